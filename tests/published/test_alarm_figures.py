"""Alarm-management figures against published bounds (check sheet section 8).

A1: ANSI/ISA-18.2-2016 tables 5 and 6, as restated in a public alarm-philosophy document; A2, A3: public documents on alarm
performance and on chattering alarms. Rows 8.1 to 8.6, 8.10 and 8.18; each was seen in its source when the sheet was made.
"""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.alarms.float_chatter import count_switch
from gateway.alarms.published_bounds import alarm_figures, flood_time, most_stale_on_a_day
from gateway.facts import Event
from gateway.facts.states.controllers_and_tanks import ChatterEpisode

START = datetime(2026, 3, 1, tzinfo=UTC)
MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)


def event(kind, at, **more):
    return Event(kind=kind, at=at, heard_at=at, known_at=at, **{"tank": "house", "input": "1", **more})


def alarms(count, every):
    return [event("low", START + number * every) for number in range(count)]


def figure(name, events, span):
    found = {figure.name: figure for figure in alarm_figures(events, START, START + span)}
    return found[name].value, found[name].ok


@pytest.mark.parametrize(
    ("name", "events", "span", "value", "ok"),
    [
        ("alarms an hour", alarms(6, 10 * MINUTE), HOUR, 6, True),  # 8.1
        ("alarms an hour", alarms(7, 8 * MINUTE), HOUR, 7, False),
        ("alarms a day", alarms(150, 9 * MINUTE), DAY, 150, True),  # 8.1
        ("alarms a day", alarms(151, 9 * MINUTE), DAY, 151, False),
        ("most in ten minutes", alarms(10, MINUTE), DAY, 10, True),  # 8.2
        ("most in ten minutes", alarms(11, timedelta(seconds=54)), DAY, 11, False),
        ("most in ten minutes", alarms(11, MINUTE), DAY, 10, True),  # the eleventh is in the next ten minutes
        ("10-min periods over 10, %", alarms(11, MINUTE / 2), DAY, 100 / 144, True),  # 8.2: one of 144 is under 1 %
        ("10-min periods over 10, %", alarms(11, MINUTE / 2), 16 * HOUR, 100 / 96, False),
        ("days looked at", [], 30 * DAY, 30, True),  # 8.10
        ("days looked at", [], 29 * DAY, 29, False),
        ("floats that chattered", alarms(3, MINUTE / 2), DAY, 1, False),  # 8.6
        ("floats that chattered", alarms(3, MINUTE), DAY, 0, True),
        ("alarms a day", [event("note", START + HOUR), event("low-over", START + HOUR)], DAY, 0, True),  # 8.18
    ],
)
def test_bounds(name, events, span, value, ok):
    """8.1, 8.2, 8.6, 8.10, 8.18: what just keeps a bound, and what just does not."""
    found, within = figure(name, events, span)
    assert found == pytest.approx(value, abs=0.001) and within is ok


def test_a_flood_begins_over_ten_and_ends_under_five():
    """8.3: it lasts from the eleventh alarm in ten minutes until fewer than five are left of the last ten minutes."""
    until = START + DAY
    assert flood_time([START + number * MINUTE / 2 for number in range(10)], until) == timedelta(0)
    burst = [START + number * MINUTE / 2 for number in range(11)]
    ends = burst[-4] - MINUTE / 2 + 10 * MINUTE  # the fifth last one is ten minutes old: four are left
    assert flood_time(burst, until) == ends - burst[-1]
    assert flood_time([*burst, START + 5 * HOUR], until) == ends - burst[-1]
    held_up = sorted([*burst, *(START + number * 2 * MINUTE for number in range(3, 30))])
    assert flood_time(held_up, until) > 40 * MINUTE


@pytest.mark.parametrize(
    ("lasts", "how_many", "most", "ok"),
    [(24 * HOUR, 9, 0, True), (25 * HOUR, 4, 4, True), (25 * HOUR, 5, 5, False), (None, 5, 5, False)],
)
def test_stale_alarms(lasts, how_many, most, ok):
    """8.5: standing for more than 24 hours; under five on any day."""
    events = [event("low", START, tank=f"t{number}") for number in range(how_many)]
    if lasts is not None:
        events += [event("low-over", START + lasts, tank=f"t{number}") for number in range(how_many)]
    assert most_stale_on_a_day(events, START, START + 30 * DAY) == most
    assert figure("over 24 h old, on one day", events, 30 * DAY) == (most, ok)


def test_stale_ones_of_different_days_are_not_added_up():
    """8.5 counts those of one day."""
    events = []
    for number in range(6):
        begins = START + number * 4 * DAY
        events += [event("low", begins), event("low-over", begins + 2 * DAY)]
    assert most_stale_on_a_day(events, START, START + 40 * DAY) == 1


@pytest.mark.parametrize(("gap_s", "starts"), [(30, True), (31, False)])
def test_chatter_starts_at_three_changes_in_a_minute(gap_s, starts):
    """8.6: three transitions in one minute are chatter; live, and in the figures, by the same measure."""
    episode, verdict = ChatterEpisode(), "fine"
    for number in range(3):
        episode, verdict = count_switch(episode, START + number * timedelta(seconds=gap_s))
    assert (verdict == "starts") is starts
    events = [event(kind, START + n * timedelta(seconds=gap_s)) for n, kind in enumerate(("low", "low-over", "low"))]
    assert figure("floats that chattered", events, DAY) == (int(starts), not starts)
