"""The one door into the record: an event is stored once, and its followers act by the table."""

import ast
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

import gateway
from gateway.facts import Message
from gateway.handlers.event_followers import FOLLOWERS, record_event
from gateway.handlers.pauses import end_pauses, pause_tank
from gateway.handlers.report import give_up
from gateway.handlers.unit_of_work import UnitOfWork
from tests.handlers.days import Days
from tests.household import ROBIN, WREN

JULY = datetime(2026, 7, 6, 2, 0, tzinfo=UTC)
H, DAY = timedelta(hours=1), timedelta(days=1)
WEAKER = {"was": "3.0 l/min", "now": "1.0 l/min"}
HILL = """
[[tanks]]
id = "hill"
name = "Hill tank"
shape = { kind = "upright-cylinder", diameter_m = 2.0, height_m = 1.8 }
  [[tanks.floats]]
  controller = "ridge"
  input = 3
  means = "low"
  level_m = 0.4
  [[tanks.floats]]
  controller = "ridge"
  input = 4
  means = "high"
  level_m = 1.6
"""


@pytest.fixture
def days(tmp_path):
    """The household, with a tank that says when it is full."""
    made = Days(tmp_path, rest=HILL)
    yield made
    made.store.close()


def record(days, now, kind, *, imported=False, tell=True, past=False, **fields):
    """One event of that time enters the record, in a transaction of its own."""
    with days.store.write() as tx:
        unit = UnitOfWork(tx=tx, site=days.site, now=now, imported=imported)
        return record_event(unit, unit.event(kind, **fields), tell=tell, past=past)


def standing_alarms(days):
    """How many stand."""
    with days.store.read() as reader:
        return len(reader.alarms())


def test_only_the_record_keeps_events():
    """Whoever kept one by another door would leave out what follows it: alarms, messages, the supply."""
    root = Path(gateway.__file__).parent
    doors = {
        str(file.relative_to(root))
        for file in root.rglob("*.py")
        for node in ast.walk(ast.parse(file.read_text("utf-8")))
        if isinstance(node, ast.Attribute) and node.attr == "keep_event"
    }
    assert doors == {"handlers/event_followers.py"}


def test_each_follower_stands_once_in_the_table():
    """So that nobody is told twice of one event."""
    followers = [row.follower for row in FOLLOWERS]
    assert len(followers) == len(set(followers)) and all(row.kinds for row in FOLLOWERS)


def test_what_a_follower_learns_is_recorded_and_followed_in_its_turn(days):
    """A tank that fills at a third of its pace: one `supply-weaker` after the `high` that showed it, and one message to each."""
    for number in range(12):
        begins, hours = JULY + number * 4 * DAY, 6 if number < 6 else 18
        for kind, at in (("low", 0), ("low-over", 1), ("high", 1 + hours), ("high-over", 2 + hours)):
            record(days, begins + at * H, kind, tank="hill", controller="ridge", input="3", tell=kind == "high")
    (weaker,) = days.events("supply-weaker")
    showed = [event for event in days.events("high") if event.at == weaker.at]
    assert [event.id for event in showed] == [weaker.id - 1]
    was, now = (float(weaker.detail[name].split()[0]) for name in ("was", "now"))
    assert weaker.tank == "hill" and now < 0.75 * was
    told = [text for _, text in days.outbox() if weaker.detail["now"] in text]
    assert len(told) == 2 and all("Hill tank" in text for text in told)
    assert not any("recedes" in text for text in told)


def test_a_source_that_recedes_is_told_once_with_what_it_gives_of_what_it_gave(days):
    """Each fill takes an eighth longer than the last, for seven weeks; then it is as it was, and nothing more is said."""
    for number in range(24):
        begins, hours = JULY + number * 4 * DAY, 4 * 1.125 ** min(number, 11)
        for kind, at in (("low", 0), ("low-over", 1), ("high", 1 + hours), ("high-over", 2 + hours)):
            record(days, begins + at * H, kind, tank="hill", controller="ridge", input="3", tell=kind == "high")
    (recedes,) = [event for event in days.events("supply-weaker") if "share" in event.detail]
    was, now = (float(recedes.detail[name].split()[0]) for name in ("was", "now"))
    assert recedes.detail["share"] == pytest.approx(now / was, abs=0.02) and 0.3 < recedes.detail["share"] < 0.8
    assert recedes.detail["month"] == 7
    told = [text for _, text in days.outbox() if "Likely the source recedes" in text]
    share = f"{100 * recedes.detail['share']:.0f}"
    assert len(told) == 2 and all(f"it gives {share} % of what it gave in July." in text for text in told)


@pytest.mark.parametrize(
    ("over", "stands_open"),
    [({}, 0), ({"tell": False}, 0), ({"past": True}, 1), ({"imported": True}, 1)],
    ids=["told", "not told", "of the past", "imported"],
)
def test_what_ends_an_alarm_closes_it_unless_it_says_nothing_of_the_present(days, over, stands_open):
    """Whether anybody is told of the end or not."""
    record(days, JULY, "low", tank="house")
    assert standing_alarms(days) == 1
    record(days, JULY + H, "low-over", tank="house", **over)
    assert standing_alarms(days) == stands_open


@pytest.mark.parametrize(
    ("begun", "messages"),
    [({}, 2), ({"tell": False}, 0), ({"past": True}, 0), ({"imported": True}, 0)],
    ids=["told", "not told", "of the past", "imported"],
)
def test_nobody_is_told_of_what_is_old_or_kept_quietly(days, begun, messages):
    """It is on record all the same."""
    record(days, JULY, "low", tank="house", **begun)
    assert len(days.outbox()) == messages and len(days.events("low")) == 1


def told(days, since=0):
    """(number, text) of what waits to leave, in the order in which it was said, from that message on."""
    with days.store.read() as reader:
        messages = sorted(reader.outbox(), key=lambda message: message.id)
    return [(message.number, message.text) for message in messages][since:]


@pytest.mark.parametrize("by", ["wren", None], ids=["by text", "by command"])
def test_who_hears_of_work_on_a_tank(days, by):
    """All but who works there hear that it began; who works there hears that it is over (without one all do), and then all that it is low."""
    worker = days.site.contacts.get(by or "")
    days.at(JULY, lambda unit: pause_tank(unit, days.site.tanks["house"], 2 * H, by=worker))
    began = told(days)
    assert [number for number, _ in began] == ([ROBIN] if by else [WREN, ROBIN])
    assert all(text.startswith(f"{'Wren' if by else 'somebody'}: work on House tank until") for _, text in began)
    days.comes(JULY + H, "LINE 1 MADE")
    record(days, JULY + H, "supply-weaker", tank="house", detail=WEAKER)
    assert told(days, len(began)) == []
    days.at(JULY + 2 * H, end_pauses)
    over = told(days, len(began))
    assert [number for number, text in over if text.startswith("The time for work on House tank is up")] == (
        [WREN] if by else [WREN, ROBIN]
    )
    assert [number for number, text in over if text.startswith("House tank LOW")] == [WREN, ROBIN]
    assert standing_alarms(days) == 1
    record(days, JULY + 3 * H, "supply-weaker", tank="house", detail=WEAKER)
    assert [number for number, _ in told(days, len(began) + len(over))] == [WREN, ROBIN]


@pytest.mark.parametrize(
    ("contact", "subject", "heard_by"),
    [("wren", "tanks", [ROBIN]), ("wren", "controllers", []), ("robin", "gateway", []), (None, "controllers", [])],
)
def test_who_hears_that_a_message_was_given_up(days, contact, subject, heard_by):
    """Whoever else hears of its subject; nobody of what told of the gateway itself, nor of a question to a controller."""
    message = Message(contact=contact, number=WREN, text="House tank LOW", at=JULY, subject=subject)
    days.at(JULY, lambda unit: give_up(unit, unit.tx.put_message(message), "refused"))
    assert [number for number, text in told(days, 1)] == heard_by
    assert [event.detail["why"] for event in days.events("given-up")] == ["refused"]


def test_a_message_given_up_makes_it_the_next_turn(days):
    """At once, in the same transaction: the water runs out meanwhile."""
    days.configure(robin="turn = 2", rest=HILL + '[call_out]\ntake_within = "10m"\n')
    days.comes(JULY, "LINE 1 MADE")
    assert [number for number, _ in told(days)] == [WREN]

    def fail(unit):
        (message,) = unit.tx.outbox()
        unit.tx.change_message(message.id, state="failed")
        give_up(unit, message, "refused")

    days.at(JULY + timedelta(seconds=1), fail)
    assert [number for number, text in told(days) if "Nobody has it yet" in text] == [ROBIN]


def test_who_takes_it_has_all_of_it_and_the_others_learn_who(days):
    """Of an alarm that somebody has already nothing is said again."""
    days.comes(JULY, "LINE 1 MADE")
    days.leaves(JULY)
    days.comes(JULY + timedelta(minutes=1), "OK", number=ROBIN)
    record(days, JULY + timedelta(minutes=2), "silent", controller="ridge")
    days.leaves(JULY + timedelta(minutes=3))
    before = len(told(days))
    days.comes(JULY + H, "OK", number=WREN)
    (first, second) = days.events("taken")
    assert (first.detail["contact"], second.detail["matters"]) == ("robin", ["silence:ridge"])
    assert not any("Wren sees to it: House tank" in text for _, text in told(days, before))
