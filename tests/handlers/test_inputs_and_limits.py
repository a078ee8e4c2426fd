"""Contacts that are no tank's and numbers with limits of their own: told by name, once each way; percent that is no battery's."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.handlers.due import do_what_is_due
from gateway.status.alarm_months import alarm_months, whose_it_is
from tests.handlers.days import Days
from tests.household import ROBIN, WREN

JULY = datetime(2026, 7, 6, 2, 0, tzinfo=UTC)
H = timedelta(hours=1)
RULES = """
  [[controllers.rules]]
  text = "TROUGH {celsius} C"
  means = "reading"
  of = "water"
  name = "Trough"
  low = 2
  high = 30
  [[controllers.rules]]
  text = "BARREL {percent} %"
  means = "reading"
  of = "water"
  [[controllers.rules]]
  text = "CHARGE {percent} %"
  means = "reading"
"""
LID = """
[[inputs]]
controller = "ridge"
input = 9
name = "Lid"
active_says = "is open"
idle_says = "is shut"
advice = "Shut it before frogs do."
"""


@pytest.fixture
def days(tmp_path):
    """The household with a lid, a trough and a barrel."""
    made = Days(tmp_path, controller=RULES, rest=LID)
    yield made
    made.store.close()


def told(days):
    """What Wren, who looks after controllers, is told."""
    return [text for number, text in days.outbox() if number == WREN]


def test_an_input_is_told_in_its_own_words_once_each_way(days):
    """With what to do; said again it is only a sign of life."""
    left = []
    for hours, state in enumerate(("BROKE", "MADE", "MADE", "BROKE")):
        days.comes(JULY + hours * H, f"LINE 9 {state} 1")
        left += days.leaves(JULY + hours * H)
    assert [text for number, text in left if number == WREN] == [
        "Lid is open since 13:00. Shut it before frogs do.",
        "Lid is shut, 15:00. After 2 h.",
    ]
    assert [event.kind for event in days.events("input-active", "input-idle", "unread")] == [
        "input-idle",
        "input-active",
        "input-idle",
    ]


def test_a_reading_beyond_its_limits_is_told_by_its_name(days):
    """Low, and over only once it is a degree above."""
    left = []
    for hours, celsius in enumerate((8, 1.5, 1, 2.5, 3, 31, 28)):
        days.comes(JULY + hours * H, f"TROUGH {celsius} C")
        left += days.leaves(JULY + hours * H)
    kinds = [event.kind for event in days.events("reading-low", "reading-back", "reading-high")]
    assert kinds == ["reading-low", "reading-back", "reading-high", "reading-back"]
    first, back = [text for number, text in left if number == WREN][:2]
    assert first == "Trough is low: 1.5 C at 13:00, limit 2 C. Ridge box told it."
    assert back.startswith("Trough is well again: 3 C at 16:00. After 3 h.")


def test_a_tank_in_percent_is_no_flat_battery(days):
    """Unless nothing says whose percents they are."""
    days.comes(JULY, "BARREL 12 %")
    assert days.events("battery-low") == () and told(days) == []
    days.comes(JULY, "CHARGE 12 %")
    assert len(days.events("battery-low")) == 1


def test_an_urgent_input_calls_out_and_is_taken(tmp_path):
    """A flood contact: by turns, breaking quiet hours, with how to answer; an OK takes it, its end is told to those who heard."""
    flood = LID.replace('advice = "Shut it before frogs do."', 'priority = "urgent"')
    rest = flood + '[call_out]\ntake_within = "15m"\n'
    days = Days(tmp_path, wren='quiet = "00:00-23:59"', robin='about = ["controllers"]\nturn = 2', rest=rest)
    days.comes(JULY, "LINE 9 MADE 1")
    assert days.leaves(JULY) == [(WREN, "Lid is open since 12:00. Reply OK if you see to it, else NO.")]
    days.at(JULY + H / 4, lambda unit: do_what_is_due(unit, verdicts=False))
    ((number, text),) = days.leaves(JULY + H / 4)
    assert number == ROBIN and "Lid is open since 12:00" in text and "Reply OK" in text
    days.comes(JULY + H / 2, "OK", number=ROBIN)
    with days.store.read() as reader:
        (alarm,) = reader.alarms()
    assert (alarm.kind, alarm.priority, alarm.state, alarm.taken_by) == ("input-active", "urgent", "taken", "robin")
    days.leaves(JULY + H / 2)
    days.comes(JULY + H, "LINE 9 BROKE 2")
    with days.store.read() as reader:
        assert reader.alarms() == ()
        assert {message.contact for message in reader.outbox()} == {"wren", "robin"}
    days.store.close()


@pytest.mark.parametrize(
    ("own", "of_all", "counts"), [("", "", "soon"), ("", "urgent", "urgent"), ("soon", "urgent", "soon")]
)
def test_how_urgent_an_input_is(tmp_path, own, of_all, counts):
    """By its own word, else by what the household says of all of them."""
    mine = f'priority = "{own}"\n' if own else ""
    theirs = f'[alarms.input-active]\npriority = "{of_all}"\n' if of_all else ""
    days = Days(tmp_path, rest=LID + mine + theirs)
    days.comes(JULY, "LINE 9 MADE 1")
    with days.store.read() as reader:
        assert [alarm.priority for alarm in reader.alarms()] == [counts]
    days.store.close()


TWO_LIDS = LID + LID.replace("input = 9", "input = 8").replace('"Lid"', '"Gate: back"').replace('"is open"', '"OPEN"')


def test_several_inputs_are_told_apart_wherever_they_are_listed(tmp_path):
    """By the names and words that the household gave them: together, in the answer to OK, in TANKS, and month by month."""
    days = Days(tmp_path, controller=RULES, rest=TWO_LIDS)
    days.comes(JULY, "LINE 9 MADE 1")
    days.comes(JULY, "LINE 8 MADE 1")
    days.comes(JULY, "TROUGH 1 C")
    ((_, together),) = days.leaves(JULY)
    assert together == "3 alarms: Lid is open 12:00; Gate: back OPEN 12:00; Trough reading low 12:00."
    ((_, taken),) = days.says(JULY + H, "OK")
    assert taken == "You have it: Lid is open, Gate: back OPEN, Trough reading low."
    ((_, tanks),) = days.says(JULY + 2 * H, "TANKS")
    assert tanks.startswith("Ridge box heard 12:00; Lid is open, Gate: back OPEN, Trough reading low (2 h, Wren).")
    with days.store.read() as reader:
        (month,) = alarm_months(reader, days.site, JULY, JULY + H)
    assert sorted(whose_it_is(days.site, key) for key, _ in month.ringing) == [
        "Ridge box, gate: back",
        "Ridge box, lid",
        "Ridge box, trough",
    ]
    days.store.close()
