"""The alarms' figures month by month → the page's sentences about them, the newest month first."""

from datetime import datetime, timedelta

from gateway.alarms.month_figures import MonthFigures
from gateway.page.cards import listed
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.alarm_months import alarm_months, ringing_said

YEAR = timedelta(days=365)


def alarm_month_lines(reader: Reader, site: Site, at: datetime) -> tuple[str, ...]:
    """One for each month of the last year in which something rang."""
    return tuple(_line(site, month) for month in reversed(alarm_months(reader, site, at - YEAR, at)))


def _line(site: Site, month: MonthFigures) -> str:
    name = f"{site.phrases.month_name(int(month.month[5:]))} {month.month[:4]}"
    counts = f"{_counted(month.alarms)} ({month.a_week:g} a week), {month.at_night} at night, {month.unanswered} that nobody took"
    ok = f"half the OKs came within {month.ok_min:g} min" if month.ok_min is not None else "no OK came"
    to_each = [f"{minutes:g} min to {site.contact_name(contact)}" for contact, minutes in month.delivered_min.items()]
    arrived = (
        f"half the messages arrived within {listed(site, to_each)}"
        if to_each
        else "no message is known to have arrived"
    )
    most = ", ".join(f"{ringing_said(site, key)} {count}" for key, count in month.ringing)
    return f"{name}: {counts}; {ok}; {arrived}. Most often: {most}."


def _counted(alarms: int) -> str:
    return f"{alarms} alarm{'' if alarms == 1 else 's'}"
