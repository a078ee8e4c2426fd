"""A battery as it goes and a year of sun as it was worked out → what the page says of them, in its language."""

import math
from datetime import datetime

from gateway.page.local_calendar import month_label, short_day
from gateway.phrases.phrasebook import When
from gateway.power.monthly_outlook import DULL_DAYS, PowerOutlook
from gateway.site import Site
from gateway.status.battery import STEADY_V_DAY, BatteryNow


def volts_words(site: Site, battery: BatteryNow, now: datetime) -> str:
    """Its newest voltage and when it was told."""
    volts = site.phrases.format_number(battery.volts)
    return site.phrases.page("battery.volts", volts=volts, at=When(battery.at, now, site.zone))


def battery_words(site: Site, battery: BatteryNow, now: datetime) -> str:
    """Its charge, and how that goes."""
    say, number = site.phrases.page, site.phrases.format_number
    words = []
    if battery.percent is not None:
        words.append(say("battery.charged", percent=f"{battery.percent:.0f}"))
    if battery.trend is None:
        return " ".join([*words, say("battery.too-few")])
    slope = battery.trend.slope.value
    key = "steady" if abs(slope) < STEADY_V_DAY else "falls" if slope < 0 else "rises"
    words.append(say(f"battery.{key}", slope=number(abs(slope))))
    if battery.low_on is not None:
        key = "at-limit" if battery.low_on <= now else "low-on"
        words.append(say(f"battery.{key}", limit=number(battery.limit), day=short_day(site, battery.low_on)))
    return " ".join(words)


def sun_words(site: Site, outlook: PowerOutlook) -> str:
    """What the twelve months come to, on the careful side: days are rounded down."""
    say, worst = site.phrases.page, outlook.worst
    values = {"month": month_label(site, worst.month), "days": math.floor(worst.days_without_sun.value)}
    if outlook.sun_unknown or not outlook.panel:
        return say("sun.unknown" if outlook.sun_unknown else "sun.no-panel", **values)
    words = [say("sun.dull" if worst.days_without_sun.value < DULL_DAYS else "sun.carries", **values)]
    if outlook.short_months():
        words.append(say("sun.short", months=", ".join(month_label(site, month) for month in outlook.short_months())))
    return " ".join(words)
