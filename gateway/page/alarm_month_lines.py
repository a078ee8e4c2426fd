"""The alarms' figures month by month → the page's sentences about them, the newest month first."""

from datetime import datetime, timedelta

from gateway.alarms.month_figures import MonthFigures
from gateway.facts import KINDS
from gateway.page.cards import listed
from gateway.page.local_calendar import month_label
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.alarm_months import alarm_months, whose_it_is

YEAR = timedelta(days=365)


def alarm_month_lines(reader: Reader, site: Site, at: datetime) -> tuple[str, ...]:
    """One for each month of the last year in which something rang."""
    return tuple(_line(site, month) for month in reversed(alarm_months(reader, site, at - YEAR, at)))


def _line(site: Site, month: MonthFigures) -> str:
    say, number = site.phrases.page, site.phrases.format_number
    words = [
        say(
            "month.counts",
            alarms=month.alarms,
            week=number(month.a_week, 1),
            night=str(month.at_night),
            unanswered=str(month.unanswered),
        ),
        say("month.ok", minutes=number(month.ok_min, 1)) if month.ok_min is not None else say("month.no-ok"),
    ]
    sent = [
        say("month.to", minutes=number(minutes, 1), who=site.contact_name(contact))
        for contact, minutes in month.delivered_min.items()
    ]
    words.append(say("month.arrived", list=listed(site, sent)) if sent else say("month.none-arrived"))
    most = ", ".join(f"{_ringing(site, key)} {count}" for key, count in month.ringing)
    name = f"{month_label(site, int(month.month[5:]))} {month.month[:4]}"
    return say("month.line", month=name, words="; ".join(words), most=most)


def _ringing(site: Site, key: str) -> str:
    """`House tank LOW`, of an alarm's key; in English for the family that has no label of its own."""
    family = key.partition(":")[0]
    kind = next((kind.name for kind in KINDS.values() if kind.opens == family), family)
    return f"{whose_it_is(site, key)} {site.phrases.label(kind)}"
