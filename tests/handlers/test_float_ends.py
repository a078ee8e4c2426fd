"""How the alarm of a float ends: heard, reckoned by refill time, or since somebody says so; and when the same text is a new alarm."""

from datetime import UTC, datetime, timedelta
from functools import partial

import pytest

from gateway.handlers.due import do_what_is_due
from gateway.status.next_due import next_due
from gateway.status.snapshot import take_snapshot
from tests.household import RIDGE, ROBIN, WREN

JUNE = datetime(2026, 6, 1, 2, 0, tzinfo=UTC)
H, DAY = timedelta(hours=1), timedelta(days=1)
LONG = 'silence_after = "off"'
"""A box that texts only when a contact closes is watched for no silence."""
SPRING = '[source]\npump = { kind = "steady", flow_l_min = 3 }\n'


@pytest.fixture
def house(household):
    """The household as these tests have it, with other words in its file."""

    def make(**parts):
        days = household(**{"controller": LONG, **parts})
        return days

    return make


def next_at(days, now):
    """When something is next due."""
    with days.store.read() as reader:
        return next_due(reader, days.site, now, verdicts=True)


def state_of(days, now, tank="house"):
    """How the tank stands."""
    with days.store.read() as reader:
        return take_snapshot(reader, days.site, now).tank(tank).state


def pass_time(days, begin, end):
    """Whatever falls due between, at its time, as the daemon's loop does it. Returns when that was."""
    done, now = [], begin
    while now <= end and len(done) < 200:
        days.at(now, partial(do_what_is_due, verdicts=True))
        due = next_at(days, now)
        if due is None:
            return done
        now = max(due, now + timedelta(seconds=1))
        done.append(now)
    return done


def test_a_float_that_never_says_so_is_reckoned_over_and_unknown(house):
    """By refill time, told as reckoned and not heard, and what it says next is news."""
    days = house(idle="", rest=SPRING)
    days.comes(JUNE, "LINE 1 MADE 0717")
    pass_time(days, JUNE, JUNE + 14 * DAY)
    (over,) = days.events("low-over-reckoned")
    assert JUNE + 12 * H < over.at < JUNE + 10 * DAY
    assert any("reckoned, not heard" in text and number == WREN for number, text in days.outbox())
    assert state_of(days, JUNE + 14 * DAY) == "unknown"
    days.comes(JUNE + 15 * DAY, "LINE 1 MADE 0717")
    assert len(days.events("low")) == 2
    assert state_of(days, JUNE + 15 * DAY) == "low"


def test_what_a_clock_that_was_ahead_set_to_wait_begins_anew(house):
    """Its ten minutes ended in a year: once the clock is right they begin again, and end."""
    days = house(float='settle = "10m"')
    days.comes(JUNE + 365 * DAY, "LINE 2 MADE 1")
    for minutes in (0, 5, 11):
        days.time_brings(JUNE + timedelta(minutes=minutes))
    assert [event.kind for event in days.events("low")] == ["low"]


def test_it_is_not_reckoned_over_before_the_taps_may_be_dry(house):
    """A spring that fills the tank in no time must not end the alarm before the call that comes before dry."""
    days = house(idle="", rest='[source]\npump = { kind = "steady", flow_l_min = 300 }\n')
    days.comes(JUNE, "LINE 1 MADE 0717")
    with days.store.read() as reader:
        from gateway.status.forecast import forecast_of

        early = forecast_of(reader, days.site, "house", JUNE).dry_at[0]
    pass_time(days, JUNE, JUNE + 14 * DAY)
    assert days.events("low-over-reckoned")[0].at >= early > JUNE


@pytest.mark.parametrize(
    ("parts", "reckoned"), [({}, 0), ({"float": 'over = "reckoned"'}, 1), ({"idle": "", "float": 'over = "said"'}, 0)]
)
def test_what_can_be_heard_or_shall_be_said_is_never_reckoned(house, parts, reckoned):
    """The configuration says how, else whether a rule can say it."""
    days = house(rest=SPRING, **parts)
    days.comes(JUNE, "LINE 1 MADE 0717")
    pass_time(days, JUNE, JUNE + 30 * DAY)
    assert len(days.events("low-over-reckoned")) == reckoned


def test_a_reckoned_end_is_forgotten_where_the_float_speaks_after_all(house):
    """A configuration that was too careful: the idle text ends it, and the next alarm is reckoned anew."""
    days = house(float='over = "reckoned"', rest=SPRING)
    days.comes(JUNE, "LINE 1 MADE 0717")
    pass_time(days, JUNE, JUNE + 2 * H)
    days.comes(JUNE + 3 * H, "LINE 1 BROKE 1017")
    days.comes(JUNE + 9 * DAY, "LINE 1 MADE 0717")
    pass_time(days, JUNE + 9 * DAY, JUNE + 9 * DAY + 6 * H)
    assert not days.events("low-over-reckoned")
    pass_time(days, JUNE + 9 * DAY + 6 * H, JUNE + 30 * DAY)
    assert len(days.events("low-over-reckoned")) == 1


@pytest.mark.parametrize("parts", [{}, {"idle": ""}, {"float": 'over = "said"'}, {"float": 'settle = "10m"'}])
def test_the_same_text_days_later_is_a_new_alarm(house, parts):
    """Whatever the float: the text of the end was lost, or there is none."""
    days = house(**parts)
    for later in (0 * DAY, 4 * DAY, 14 * DAY):
        days.comes(JUNE + later, "LINE 1 MADE 0717")
        pass_time(days, JUNE + later, JUNE + later + H)
    assert [event.at for event in days.events("low")] == [JUNE, JUNE + 4 * DAY, JUNE + 14 * DAY]


def test_a_text_that_comes_again_and_again_is_one_alarm(house):
    """A box that says hourly how its contact stands; `again_after` counts from its last such text."""
    days = house()
    for hour in range(12):
        days.comes(JUNE + hour * H, f"LINE 1 MADE {hour}")
    assert len(days.events("low")) == 1
    days.configure(controller=LONG, rest='[call_out]\nagain_after = "30m"\n')
    days.comes(JUNE + 12 * H, "LINE 1 MADE 12")
    assert len(days.events("low")) == 2


def test_somebody_says_that_it_is_over(house):
    """`OVER house` by text: the tank is well by their word, its alarm is closed, and the next text is a new one."""
    days = house(float='over = "said"')
    days.comes(JUNE, "LINE 1 MADE 0717")
    days.comes(JUNE + H, "Over House tank!", number=WREN)
    (said,) = days.events("low-over-said")
    assert (said.tank, said.detail["who"]) == ("house", "Wren")
    assert state_of(days, JUNE + H) == "ok"
    assert any("Wren says" in text and number != WREN for number, text in days.outbox())
    assert (WREN, "Kept: House tank is well again, by your word.") in days.outbox()
    days.comes(JUNE + 2 * H, "LINE 1 MADE 0917")
    assert len(days.events("low")) == 2


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        ("OVER", "Send OVER and the tank"),
        ("over there", "Send OVER and the tank"),
        ("OVER house", "nothing of it was open"),
        ("over house and out", "Send OVER and the tank"),
    ],
)
def test_what_is_not_open_or_not_a_tank_ends_nothing(house, text, answer):
    """It is said, and nothing is stored."""
    days = house()
    days.comes(JUNE, text, number=WREN)
    assert any(answer in said for _, said in days.outbox())
    assert not days.events("low-over-said")


def test_a_word_ends_the_alarm_of_a_float_that_left_the_file(household):
    """Nothing else ever could: OVER was answered with LOW, and the alarm came back each day."""
    bare = '[[tanks]]\nid = "stock"\nname = "Stock tank"\n'
    days = household(rest=f'{bare}  [[tanks.floats]]\n  controller = "ridge"\n  input = 3\n  means = "low"\n')
    days.says(JUNE, "LINE 3 MADE 1", number=RIDGE)
    days.configure(rest=bare)
    said = dict(days.says(JUNE + H, "OVER stock"))
    assert said == {
        WREN: "Kept: Stock tank is well again, by your word.",
        ROBIN: "Wren says at 13:00 that Stock tank is no longer low.",
    }
    with days.store.read() as reader:
        assert reader.alarms() == ()
