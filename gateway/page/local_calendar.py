"""Local days and months, and measures, as the page's language calls them."""

from datetime import date, datetime, time, timedelta
from typing import Literal

from gateway.phrases import cldr
from gateway.site import Site


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
    return cldr.day_and_month(site.phrases.language, local_day(site, at), "abbreviated")


def long_day(site: Site, day: date) -> str:
    """`Fri 20 Nov 2026`."""
    return cldr.long_day(site.phrases.language, day)


def day_and_time(site: Site, at: datetime) -> str:
    """`Fri 20 Nov 2026 14:05`: a time that holds by itself, whenever it is read."""
    return f"{long_day(site, local_day(site, at))} {at.astimezone(site.zone):%H:%M}"


def weekday_names(site: Site) -> tuple[str, ...]:
    """`Mon` to `Sun`."""
    names = cldr.day_names(site.phrases.language, "abbreviated")
    return tuple(names[day] for day in range(7))


def month_label(site: Site, month: int) -> str:
    """`Nov`; 1 is January."""
    return cldr.month_names(site.phrases.language, "abbreviated", alone=True)[month]


def measure(site: Site, value: float, unit: Literal["litres", "metres", "flow"]) -> str:
    """`5655 l`, `1.13 m`, `2.8 l/min`, with no more digits than are known."""
    places = {"litres": 0, "metres": 2, "flow": 1}[unit]
    return site.phrases.page(f"unit.{unit}", n=site.phrases.format_number(round(value, places), places))


def when(site: Site, at: datetime, now: datetime) -> str:
    """`14:05`, `Tue 14:05`, `20 Nov 14:05`: as short as it can be from now."""
    return site.phrases.format_time(at, now, site.zone)
