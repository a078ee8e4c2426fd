"""Whose turn it is by the week's pattern, at local times."""

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from gateway.alarms.watch_by_week import turn_by_week
from gateway.settings.people_tables import Watch

SYDNEY = ZoneInfo("Australia/Sydney")


def row(contact, days=(), begins="00:00", until="24:00"):
    """One row of the file."""
    return Watch.model_validate({"contact": contact, "days": days, "from": begins, "until": until})


WEEKEND = row("wren", ["Saturday", "sunday"])
NIGHTS = row("robin", ["monday", "friday"], "22:00", "06:30")
EVENING = row("finch", ["friday"], "18:00", "23:00")


@pytest.mark.parametrize(
    ("rows", "at", "turn"),
    [
        ([WEEKEND], "2026-11-27T23:59", None),
        ([WEEKEND], "2026-11-28T00:00", ("wren", "2026-11-28T00:00", "2026-11-30T00:00")),
        ([WEEKEND], "2026-11-29T12:00", ("wren", "2026-11-29T00:00", "2026-11-30T00:00")),
        ([WEEKEND], "2026-11-30T00:00", None),
        ([NIGHTS], "2026-11-23T21:59", None),
        ([NIGHTS], "2026-11-23T22:00", ("robin", "2026-11-23T22:00", "2026-11-24T06:30")),
        ([NIGHTS], "2026-11-24T06:29", ("robin", "2026-11-23T22:00", "2026-11-24T06:30")),
        ([NIGHTS], "2026-11-24T06:30", None),
        ([NIGHTS], "2026-11-24T22:30", None),
        ([EVENING, NIGHTS], "2026-11-27T22:30", ("finch", "2026-11-27T18:00", "2026-11-27T23:00")),
        ([EVENING, NIGHTS], "2026-11-27T23:00", ("robin", "2026-11-27T22:00", "2026-11-28T06:30")),
        ([NIGHTS, EVENING], "2026-11-27T22:30", ("robin", "2026-11-27T22:00", "2026-11-28T06:30")),
        ([row("wren", [], "08:00", "20:00")], "2026-11-25T08:00", ("wren", "2026-11-25T08:00", "2026-11-25T20:00")),
        ([row("wren", [], "08:00", "20:00")], "2026-11-25T20:00", None),
        # the clocks go forward on Sunday, 4 October 2026, at two
        ([row("wren", ["sunday"])], "2026-10-04T12:00", ("wren", "2026-10-04T00:00", "2026-10-05T00:00")),
        ([], "2026-11-25T12:00", None),
    ],
)
def test_whose_turn(rows, at, turn):
    """The first row that fits, until the last row without a gap ends; a night belongs to the day on which it begins."""
    found = turn_by_week(rows, SYDNEY, datetime.fromisoformat(at).replace(tzinfo=SYDNEY))
    times = () if found is None else (found.since, found.until)
    said = found and (found.contact, *(f"{time.astimezone(SYDNEY):%Y-%m-%dT%H:%M}" for time in times))
    assert said == turn


def test_a_watch_without_a_gap_is_said_to_last_a_week_or_so():
    """Whoever has every day has no end that is near, and reckoning it ends."""
    noon = datetime(2026, 11, 25, 12, 0, tzinfo=SYDNEY)
    assert (turn_by_week([row("wren")], SYDNEY, noon).until - noon).days == 8
