"""Alarms of two months → figures for a house: how often, at night, unanswered, until an OK, and which ring most."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from gateway.alarms.month_figures import is_night, month_figures
from gateway.facts.alarms import Alarm, Telling

SYDNEY = ZoneInfo("Australia/Sydney")
MAY, JUNE = datetime(2026, 5, 4, 2, 0, tzinfo=UTC), datetime(2026, 6, 1, 2, 0, tzinfo=UTC)
H, MIN = timedelta(hours=1), timedelta(minutes=1)


def alarm(number, at, key="low:house", priority="urgent", taken=None, state="over"):
    """One, raised then, taken so long after."""
    return Alarm(
        id=number, key=key, kind="low", tank="house", priority=priority, since=at, raised_at=at, round_at=at, turn_at=at, reminded_at=at,
        state=state, taken_by="wren" if taken else None, taken_at=at + taken if taken else None,
    )  # fmt: skip


def told(alarm_number, at, contact, waited, why="first"):
    """A telling whose message left at once and arrived so long after; None: nobody knows that it did."""
    arrived = None if waited is None else at + waited
    return Telling(alarm=alarm_number, contact=contact, at=at, why=why, message=1, handed_at=at, delivered_at=arrived)


ALARMS = (
    alarm(1, MAY, taken=10 * MIN),
    alarm(2, MAY + 11 * H),
    alarm(3, MAY + 24 * H, key="silence:ridge", priority="soon"),
    alarm(4, MAY + 25 * H, key="high:house", priority="record"),
    alarm(5, JUNE, taken=4 * MIN),
    alarm(6, JUNE + 8 * H, taken=6 * MIN),
)
TELLINGS = {
    1: [told(1, MAY, "wren", MIN), told(1, MAY, "robin", None)],
    2: [told(2, MAY, "wren", 3 * MIN)],
    3: [told(3, MAY, "wren", None)],
    4: [told(4, MAY, "wren", None)],
    6: [told(6, JUNE, "wren", None)],
    5: [told(5, JUNE, "robin", 2 * MIN)],
}


def figures(until):
    """By month."""
    return {of.month: of for of in month_figures(ALARMS, TELLINGS, lambda at: at.astimezone(SYDNEY), until)}


def test_a_month_as_a_house_has_it():
    """Local months; what is only for the record rings nowhere; an alarm at 23:00 is at night; no OK is not an OK of nought minutes."""
    may, june = figures(JUNE + 14 * 24 * H).values()
    assert (may.month, may.alarms, may.urgent, may.at_night, may.unanswered) == ("2026-05", 3, 2, 1, 1)
    assert (may.ok_min, june.ok_min, june.unanswered) == (10.0, 5.0, 0)
    assert may.ringing == (("low:house", 2), ("silence:ridge", 1))
    assert (may.delivered_min, june.delivered_min) == ({"wren": 2.0}, {"robin": 2.0})


def test_a_week_of_a_month_that_is_not_over():
    """By what has passed of it, and of less than a week as if it were one."""
    whole, begun = figures(JUNE + 60 * 24 * H)["2026-06"], figures(JUNE + 14 * 24 * H)["2026-06"]
    assert whole.a_week == round(2 / (30 / 7), 2) and 0.9 < begun.a_week < 1.0
    assert figures(JUNE + 9 * H)["2026-06"].a_week == 2.0


def test_no_alarms_no_months():
    """Nothing rang, nothing is told."""
    assert month_figures((), {}, lambda at: at, JUNE) == ()


@pytest.mark.parametrize(
    ("hour", "night"), [(21, False), (22, True), (23, True), (0, True), (5, True), (6, False), (12, False)]
)
def test_when_people_sleep(hour, night):
    """From ten until six."""
    assert is_night(JUNE.replace(hour=hour)) is night


def test_what_came_before_it_was_told_took_no_time():
    """A clock that was set back meanwhile makes no message quicker than at once; what rings most is named first, three at most."""
    alarms = [alarm(n, JUNE + n * H, key=key) for n, key in enumerate("dabcbcac")]
    told_early = {n: [told(n, JUNE, "wren", -MIN if n == 0 else None)] for n in range(8)}
    (june,) = month_figures(alarms, told_early, lambda at: at, JUNE + 30 * 24 * H)
    assert june.delivered_min == {"wren": 0.0}
    assert june.ringing == (("c", 3), ("a", 2), ("b", 2))
    assert (june.ok_min, june.unanswered) == (None, 8)


def figures_of(alarm, *tellings):
    """One alarm in June; None: it rang nowhere."""
    by_month = month_figures([alarm], {alarm.id: tellings}, lambda at: at, JUNE + 30 * 24 * H)
    return by_month[0] if by_month else None


def test_who_took_it_first_has_answered_whatever_came_of_it():
    """It came back to them, and nobody said a word of it again until it was over."""
    june = figures_of(
        alarm(1, JUNE), told(1, JUNE, "wren", None), told(1, JUNE + 5 * MIN, "wren", None, "took"), told(1, JUNE + 9 * H, "robin", None, "took")
    )  # fmt: skip
    assert (june.unanswered, june.ok_min) == (0, 5.0)


@pytest.mark.parametrize(
    ("state", "unanswered"), [("open", 0), ("unanswered", 1), ("reckoned-over", 1), ("over", 1), ("held", 0)]
)
def test_what_somebody_may_still_answer_is_not_unanswered(state, unanswered):
    """A minute old, and its turn runs."""
    assert figures_of(alarm(1, JUNE, state=state), told(1, JUNE, "wren", None)).unanswered == unanswered


def test_what_was_over_before_its_message_left_asked_nobody():
    """It is told as one message, that it was."""
    waited = Telling(alarm=1, contact="wren", at=JUNE, why="first", message=1)
    june = figures_of(alarm(1, JUNE), waited, told(1, JUNE + MIN, "wren", None, "over"))
    assert (june.alarms, june.unanswered) == (1, 0)


def test_what_calls_nobody_does_not_ring():
    """Held by work from beginning to end, or folded into its cause, whose words it changes; worse than it was, it calls."""
    assert figures_of(alarm(1, JUNE)) is None
    assert figures_of(alarm(1, JUNE), told(1, JUNE, "wren", None, "changed")) is None
    assert figures_of(alarm(1, JUNE), told(1, JUNE, "wren", None, "worse")).alarms == 1
