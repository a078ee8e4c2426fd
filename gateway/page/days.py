"""Local days and months, and how they are called. The page is in English, whatever language the household is texted in."""

from datetime import date, datetime, time, timedelta

from gateway.site import Site

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day_start(site: Site, day: date) -> datetime:
    """Local midnight."""
    return datetime.combine(day, time(), tzinfo=site.zone)


def months_back(site: Site, now: datetime, count: int) -> list[datetime]:
    """The starts of the last so many months, this one the last."""
    local = now.astimezone(site.zone)
    index = local.year * 12 + local.month - 1
    return [day_start(site, date(n // 12, n % 12 + 1, 1)) for n in range(index - count + 1, index + 1)]


def following_month(start: date) -> date:
    """The first of the month after."""
    return (start.replace(day=28) + timedelta(days=4)).replace(day=1)


def short_day(site: Site, at: datetime) -> str:
    """`20 Nov`."""
    local = at.astimezone(site.zone)
    return f"{local.day} {MONTHS[local.month - 1]}"


def long_day(day: date) -> str:
    """`Fri 20 Nov 2026`."""
    return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]} {day.year}"
