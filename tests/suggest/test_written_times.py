"""Dates and times as people write them; what is ambiguous is never guessed."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from gateway.suggest.written_times import Ambiguous, NoTime, moment_of, order_of

SYDNEY = ZoneInfo("Australia/Sydney")


@pytest.mark.parametrize(
    ("dates", "order"),
    [
        (["03.04.2026"], "day-first"),
        (["03/04/2026", "13/04/2026"], "day-first"),
        (["03/04/2026", "04/13/2026"], "month-first"),
        (["2026-03-04"], "day-first"),
        (["03/03/2026", ""], "day-first"),
    ],
)
def test_one_date_tells_for_all(dates, order):
    """A number above twelve is a day; dots are day-first; where it makes no difference nobody is asked."""
    assert order_of(dates, None) == order


def test_none_tells():
    """Then it is asked, unless it was said."""
    with pytest.raises(Ambiguous, match="'03/04/2026' may be day-month or month-day"):
        order_of(["2026-01-01", "03/04/2026"], None)
    assert order_of(["03/04/2026"], "month-first") == "month-first"


@pytest.mark.parametrize(
    ("day", "clock", "hour", "minute"),
    [
        ("12/03/2026", "07:14:09", 7, 14),
        ("12.3.26", "7.14", 7, 14),
        ("12. März 2026", "07:14", 7, 14),
        ("12 de marzo de 2026", "7:14", 7, 14),
        ("12 березня 2026", "07:14", 7, 14),
        ("Mar 12, 2026", "7:14 PM", 19, 14),
        ("2026-03-12", "12:05 am", 0, 5),
        ("12/03/2026", "12:05 p. m.", 12, 5),
        ("12/03/2026 07:14", "12/03/2026 07:14", 7, 14),
        ("12.03.2026", "12.03.2026", 0, 0),
    ],
)
def test_the_moment(day, clock, hour, minute):
    """In the place's own time, twelve hours or twenty-four, months by name in the languages of our phrases."""
    assert moment_of(day, clock, "day-first", SYDNEY) == datetime(
        2026, 3, 12, hour, minute, 9 if "09" in clock else 0, tzinfo=SYDNEY
    )


def test_an_offset_counts():
    """Whatever the place's own is."""
    assert moment_of("2026-03-12", "07:14+01:00", "day-first", SYDNEY) == datetime(2026, 3, 12, 6, 14, tzinfo=UTC)


@pytest.mark.parametrize(
    ("day", "clock"),
    [
        ("12 March", "07:14"),
        ("31/02/2026", "07:14"),
        ("12/03/2026", "27:99"),
        ("12/03/2026", ""),
        ("12 Foo 2026", "07:14"),
    ],
)
def test_what_is_no_time(day, clock):
    """A date without a year, one that no month has, a time that no day has."""
    with pytest.raises(NoTime):
        moment_of(day, clock, "day-first", SYDNEY)
