"""Quiet hours and a time → when they end, if it is quiet now.

In: "22:00-06:30" in local time (may run over midnight), the zone, aware `now`. Out: the end as aware UTC, or None.
Through summer-time changes each local end comes once (fault 32).
"""

from datetime import UTC, date, datetime, time, timedelta, tzinfo

LANDLINE_QUIET = "22:00-07:00"
"""Spoken delivery rings a bell in the house: never at night unless urgent (common practice)."""


def quiet_until(quiet: str, zone: tzinfo, now: datetime) -> datetime | None:
    """When the quiet ends, if it is quiet now."""
    if not quiet.strip():
        return None
    start, end = (_clock(part) for part in quiet.split("-"))
    if start == end:
        return None
    today = now.astimezone(zone).date()
    for day in (today - timedelta(days=1), today):
        begins = _at(day, start, zone)
        ends = _at(day if start < end else day + timedelta(days=1), end, zone)
        if begins <= now < ends:
            return ends
    return None


def _clock(written: str) -> time:
    hour, minute = written.strip().split(":")
    return time(int(hour), int(minute))


def _at(day: date, clock: time, zone: tzinfo) -> datetime:
    return datetime.combine(day, clock, tzinfo=zone).astimezone(UTC)
