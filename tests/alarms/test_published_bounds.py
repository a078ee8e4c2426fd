"""Events → figures beside published bounds, each held against a count by hand."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.alarms.published_bounds import alarm_figures, flood_time, most_stale_on_a_day
from gateway.facts import Event

T0 = datetime(2026, 11, 2, 12, 0, tzinfo=UTC)
H, MIN, SEC, DAY = timedelta(hours=1), timedelta(minutes=1), timedelta(seconds=1), timedelta(days=1)


def event(kind, after, tank="house", **more):
    return Event(kind=kind, at=T0 + after, heard_at=T0 + after, known_at=T0 + after, tank=tank, **more)


def figures(events, span=30 * DAY, since=timedelta(0)):
    """Name → (value, within its bound)."""
    return {figure.name: (figure.value, figure.ok) for figure in alarm_figures(events, T0 + since, T0 + span)}


def row(count, gap, begins=timedelta(0)):
    """So many alarms, each `gap` after the one before."""
    return [T0 + begins + number * gap for number in range(count)]


@pytest.mark.parametrize(
    ("times", "until", "lasted"),
    [
        (row(10, 30 * SEC), H, 0 * MIN),
        (row(11, 60 * SEC), H, 0 * MIN),  # the eleventh comes as the first is ten minutes old
        (row(11, 30 * SEC), H, 8 * MIN),  # from the eleventh on until four are left
        (row(11, 30 * SEC), 10 * MIN, 5 * MIN),
        (row(20, 30 * SEC), H, 12 * MIN + 30 * SEC),
        ([*row(11, 30 * SEC), *row(11, 30 * SEC, begins=H)], 2 * H, 16 * MIN),
        ([], H, 0 * MIN),
    ],
)
def test_how_long_floods_last(times, until, lasted):
    """From more than ten in ten minutes until fewer than five."""
    assert flood_time(times, T0 + until) == lasted


@pytest.mark.parametrize(
    ("events", "stale"),
    [
        ([], 0),
        ([event("low", 0 * H)], 1),
        ([event("low", 0 * H), event("low-over", 24 * H)], 0),
        ([event("low", 0 * H), event("low-over", 24 * H + SEC)], 1),
        ([event("low", 0 * H), event("low", 23 * H), event("low-over", 25 * H)], 1),
        ([event("low", 0 * H), event("low", 0 * H, "hill"), event("low-over", 2 * DAY, "hill")], 2),
        ([event("low", 0 * H), event("low-over", 2 * DAY), event("low", 10 * DAY, "hill")], 1),
        ([event("low-over", 0 * H), event("low-over", 2 * DAY)], 0),
        ([event("silent", 0 * H, None, controller="ridge")], 0),
        ([event("low", -5 * DAY), event("low-over", -DAY)], 0),
        ([event("low", -5 * DAY), event("low-over", DAY)], 1),
    ],
)
def test_how_many_are_old_on_one_day(events, stale):
    """Urgent alarms that stand for more than a day, on the day that has most of them."""
    assert most_stale_on_a_day(events, T0, T0 + 30 * DAY) == stale


@pytest.mark.parametrize(
    ("times_s", "since", "chatters"),
    [
        ([0, 30, 60], 0 * H, 1),
        ([0, 30, 61], 0 * H, 0),
        ([0, 30], 0 * H, 0),
        ([0, 300, 330, 360], 0 * H, 1),
        ([0, 30, 60], SEC, 0),
    ],
)
def test_which_floats_chatter(times_s, since, chatters):
    """Three changes in a minute, of one float."""
    events = [event(("low", "low-over")[n % 2], s * SEC, input="1", controller="ridge") for n, s in enumerate(times_s)]
    assert figures(events, since=since)["floats that chattered"] == (chatters, chatters == 0)
    apart = [event("low", s * SEC, input=str(n), controller="ridge") for n, s in enumerate(times_s)]
    assert figures(apart, since=since)["floats that chattered"][0] == 0
    alive = [event("alive", s * SEC, None, controller="ridge") for s in times_s]
    assert figures(alive, since=since)["floats that chattered"][0] == 0


def test_rates_and_shares():
    """Of the urgent ones between the two times; what lies before or after them does not count."""
    quiet = figures([event("low", -H), event("low", H), event("alive", 2 * H), event("low", 31 * DAY)])
    assert quiet["days looked at"] == (30.0, True)
    assert quiet["alarms an hour"] == (round(1 / 720, 3), True) and quiet["alarms a day"] == (round(1 / 30, 3), True)
    assert quiet["most in ten minutes"] == (1, True) and quiet["10-min periods over 10, %"] == (0.0, True)
    assert quiet["time in floods, %"] == (0.0, True)


def test_less_than_an_hour_counts_as_one():
    """Eleven in five minutes are eleven an hour, eleven a day, and one busy period of one."""
    busy = figures([event("low", n * 30 * SEC) for n in range(11)], span=5 * MIN)
    assert busy["days looked at"] == (0.003, False)
    assert busy["alarms an hour"] == (11, False) and busy["alarms a day"] == (11, True)
    assert busy["most in ten minutes"] == (11, False)
    assert busy["10-min periods over 10, %"] == (100.0, False)
    assert busy["time in floods, %"] == (0.0, True)


@pytest.mark.parametrize(
    ("count", "hourly", "daily"),
    [(144, True, True), (145, False, True), (150, False, True), (151, False, False)],
)
def test_within_the_bounds_of_a_console(count, hourly, daily):
    """Six an hour and 150 a day are acceptable."""
    found = figures([event("low", n * 9 * MIN) for n in range(count)], span=DAY)
    assert (found["alarms an hour"], found["alarms a day"]) == ((round(count / 24, 3), hourly), (count, daily))


def test_periods_are_laid_end_to_end():
    """Eleven alarms on both sides of a border fill neither period; eleven of one fill it, one in a hundred is too many."""
    at_border = [event("low", 7 * MIN + n * 30 * SEC) for n in range(11)]
    within = [event("low", n * 30 * SEC) for n in range(11)]
    assert figures(at_border, span=1000 * MIN)["10-min periods over 10, %"] == (0.0, True)
    assert figures(within, span=1000 * MIN)["10-min periods over 10, %"] == (1.0, False)
    assert figures(within, span=1001 * MIN)["10-min periods over 10, %"] == (round(100 / 101, 3), True)
    assert figures(within, span=800 * MIN)["time in floods, %"] == (1.0, False)
    assert figures(within, span=801 * MIN)["time in floods, %"] == (0.999, True)
    assert figures(at_border)["most in ten minutes"] == (11, False)


def test_five_that_are_old_are_too_many():
    """Under five is the bound."""
    for count, ok in ((4, True), (5, False)):
        events = [event("low", 0 * H, f"tank{n}") for n in range(count)]
        assert figures(events)["over 24 h old, on one day"] == (count, ok)
