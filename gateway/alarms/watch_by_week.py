"""The rows of `watch` and a time → whose turn it is by the week, since when and until when. Local times, through summer time too."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import get_args

from gateway.settings.people_tables import Watch, Weekday

WEEKDAYS: tuple[Weekday, ...] = get_args(Weekday)
DAY = timedelta(days=1)
MOST_ROWS_JOINED = 8
"""Rows that follow each other without a gap are one turn; whoever has every day is said to have a week of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekTurn:
    """`contact`: an id."""

    contact: str
    since: datetime
    until: datetime


def turn_by_week(rows: Sequence[Watch], zone: tzinfo, now: datetime) -> WeekTurn | None:
    """Whose turn it is; of several rows that fit the first in the file. None: nobody's."""
    turn = _row_at(rows, zone, now)
    for _ in range(MOST_ROWS_JOINED if turn is not None else 0):
        assert turn is not None
        following = _row_at(rows, zone, turn.until)
        if following is None or following.contact != turn.contact:
            break
        turn = replace(turn, until=following.until)
    return turn


def _row_at(rows: Sequence[Watch], zone: tzinfo, now: datetime) -> WeekTurn | None:
    today = now.astimezone(zone).date()
    for row in rows:
        for day in (today - DAY, today):
            since, until = _at(day, row.begins, zone), _at(_last_day(row, day), row.until, zone)
            if (not row.days or WEEKDAYS[day.weekday()] in row.days) and since <= now < until:
                return WeekTurn(contact=row.contact, since=since, until=until)
    return None


def _last_day(row: Watch, day: date) -> date:
    return day if _clock(row.begins) < _clock(row.until) else day + DAY


def _clock(written: str) -> tuple[int, int]:
    hour, minute = written.split(":")
    return int(hour), int(minute)


def _at(day: date, written: str, zone: tzinfo) -> datetime:
    hour, minute = _clock(written)
    midnight = datetime.combine(day + timedelta(days=hour // 24), time(hour % 24, minute), tzinfo=zone)
    return midnight.astimezone(UTC)
