"""How many days' worth of use fall between two times: by the hours of the day, also where the clocks change between them."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from gateway.water.demand import HOURLY, day_shares

SYDNEY = ZoneInfo("Australia/Sydney")


def at(written):
    """A local time of 2026."""
    return datetime.fromisoformat(f"2026-{written}").replace(tzinfo=SYDNEY)


@pytest.mark.parametrize(
    ("since", "until", "hours"),
    [
        ("11-25 10:20", "11-25 12:50", {10: 2 / 3, 11: 1, 12: 5 / 6}),
        ("11-25 23:30", "11-26 00:15", {23: 0.5, 0: 0.25}),
        ("10-04 01:20", "10-04 04:40", {1: 2 / 3, 3: 1, 4: 2 / 3}),
        ("10-04 01:20:30.5", "10-04 04:40:45", {1: 2369.5 / 3600, 3: 1, 4: 2445 / 3600}),
        ("04-05 01:45", "04-05 03:30", {1: 0.25, 2: 2, 3: 0.5}),
        ("11-25 10:20", "11-25 10:20", {}),
    ],
    ids=[
        "within a day",
        "over midnight",
        "an hour is left out",
        "to the second",
        "an hour comes twice",
        "nothing between",
    ],
)
def test_the_hours_between_count_by_what_is_drawn_in_them(since, until, hours):
    """A whole day more is one more."""
    start, end = (at(time).astimezone(ZoneInfo("UTC")) for time in (since, until))
    shares = sum(HOURLY[hour] * share for hour, share in hours.items()) / 24
    assert day_shares(start, end, SYDNEY) == pytest.approx(shares)
    assert day_shares(end, start, SYDNEY) == 0.0
    if hours:
        assert day_shares(start - timedelta(days=3), end - timedelta(days=2), SYDNEY) == pytest.approx(
            1 + day_shares(start - timedelta(days=2), end - timedelta(days=2), SYDNEY)
        )
