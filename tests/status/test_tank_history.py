"""A known year of one tank → its hours and flows, and whether the last of them are more or less than those before."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts import Event
from gateway.settings.water_tables import Float, Tank, UprightCylinder
from gateway.status.episodes import Episode
from gateway.status.tank_history import (
    Measured,
    change_of,
    delivered_flows,
    hours_between_lows,
    hours_low,
    refill_hours,
)

START = datetime(2026, 3, 1, tzinfo=UTC)
HOUR = timedelta(hours=1)
TANK = Tank(
    id="house",
    name="House tank",
    shape=UprightCylinder(kind="upright-cylinder", diameter_m=2.0, height_m=1.8),
    floats=(
        Float(controller="ridge", input="1", means="low", level_m=0.4),
        Float(controller="ridge", input="2", means="high", level_m=1.4),
    ),
)


def low(begins_h, ends_h=None):
    """A low episode from so many hours after the start to so many."""
    ended = None if ends_h is None else START + ends_h * HOUR
    return Episode(where="t:house", family="low", began=START + begins_h * HOUR, ended=ended)


def event(kind, after_h, tank="house", **detail):
    """What a float told."""
    at = START + after_h * HOUR
    return Event(kind=kind, at=at, heard_at=at, known_at=at, tank=tank, detail=detail)


def test_hours_between_and_during_lows():
    """From an end to the next beginning; one that lasts counts up to now; what began before `since` is left out."""
    lows = [low(-10, -4), low(0, 2), low(12, 15), low(40)]
    assert [figure.value for figure in hours_between_lows(lows, START)] == [4, 10, 25]
    assert [figure.value for figure in hours_between_lows(lows, START + 5 * HOUR)] == [10, 25]
    assert [figure.value for figure in hours_low(lows, START, START + 50 * HOUR)] == [2, 3, 10]


@pytest.mark.parametrize(
    ("events", "hours"),
    [
        ([("low-over", 1), ("high", 25)], [24]),
        ([("low-over", 1), ("high", 25), ("high-over", 26), ("high", 27)], [24]),  # a high float that bounces
        ([("low-over", 1), ("low", 2), ("high", 25)], []),  # it went low again: no fill
        ([("high", 25)], []),
        ([("low-over", -5), ("high", -1)], []),  # over before the time that is asked for
        ([("low-over", 1), ("high", 1)], []),  # no time at all is no fill
    ],
)
def test_a_fill_is_from_the_low_float_to_the_high_one(events, hours):
    """Each once; another tank's floats say nothing."""
    told = [event(kind, after_h) for kind, after_h in events]
    assert [refill.value for refill in refill_hours(TANK, told, START)] == hours
    elsewhere = [event(kind, after_h, tank="spring") for kind, after_h in events]
    assert refill_hours(TANK, elsewhere, START) == []


def test_a_first_idle_reading_begins_no_fill():
    """Nobody knows for how long it had been idle."""
    assert refill_hours(TANK, [event("low-over", 1, first=True), event("high", 25)], START) == []


def test_what_was_delivered_is_what_stands_between_the_floats_and_what_was_used():
    """A metre of two metres' width in a day, and 480 l a day used meanwhile; without both floats nothing can be said."""
    day = [Measured(at=START, value=24.0)]
    (flow,) = delivered_flows(TANK, day, 480.0)
    assert flow.value == pytest.approx((3141.59 + 480) / 1440, rel=1e-4)
    assert delivered_flows(TANK.model_copy(update={"floats": TANK.floats[:1]}), day, 480.0) == []


@pytest.mark.parametrize(
    ("values", "change"),
    [
        ([10.0] * 5 + [5.0] * 4, "alike"),  # nine are too few
        ([10.0] * 5 + [5.0] * 5, "less"),
        ([10.0] * 5 + [20.0] * 5, "more"),
        ([10.0] * 5 + [15.0] * 5, "alike"),
        ([10.0] * 5 + [16.0] * 5, "alike"),  # more than 1.6 times as much, not just that
        ([10.0] * 95 + [5.0] * 5, "less"),
        ([10.0] * 5 + [20.0] * 4 + [1.0], "more"),  # the middle one, whatever one of them is
    ],
)
def test_the_last_five_are_held_against_all_before(values, change):
    """More or less only where their middles clearly differ."""
    figures = [Measured(at=START + number * HOUR, value=value) for number, value in enumerate(values)]
    assert change_of(figures, ratio=1.6) == change
