"""Local days and months, and how they are called. The page is in English, whatever language the household is texted in."""

from datetime import date, datetime, time, timedelta

from gateway.site import Site

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day_start(site: Site, day: date) -> datetime:
    """Local midnight."""
    return datetime.combine(day, time(), tzinfo=site.zone)


def local_day(site: Site, at: datetime) -> date:
    """The day it is at the site."""
    return at.astimezone(site.zone).date()


def month_starts(site: Site, now: datetime, count: int) -> list[datetime]:
    """The starts of the last so many months, this one the last."""
    today = local_day(site, now)
    months = today.year * 12 + today.month - 1
    return [day_start(site, date(month // 12, month % 12 + 1, 1)) for month in range(months - count + 1, months + 1)]


def following_month(start: date) -> date:
    """The first of the month after."""
    return (start.replace(day=28) + timedelta(days=4)).replace(day=1)  # the 28th and four days is in it, however long


def short_day(site: Site, at: datetime) -> str:
    """`20 Nov`."""
    day = local_day(site, at)
    return f"{day.day} {MONTHS[day.month - 1]}"


def long_day(day: date) -> str:
    """`Fri 20 Nov 2026`."""
    return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]} {day.year}"


def when(site: Site, at: datetime, now: datetime) -> str:
    """`14:05`, `Tue 14:05`, `20 Nov 14:05`: as short as it can be from now."""
    return site.phrases.format_time(at, now, site.zone)


def since(site: Site, at: datetime | None, now: datetime) -> str:
    """` since 14:05`, to be added to a sentence; nothing where it is not known."""
    return f" since {when(site, at, now)}" if at else ""
