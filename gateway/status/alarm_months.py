"""The alarms on record and who was told of them → their figures month by month, as `history --figures` and the page show them."""

from collections import defaultdict
from datetime import datetime

from gateway.alarms.month_figures import MonthFigures, month_figures
from gateway.facts.alarms import Telling
from gateway.ports import Reader
from gateway.site import Site


def alarm_months(reader: Reader, site: Site, since: datetime, until: datetime) -> tuple[MonthFigures, ...]:
    """Of alarms that were raised since then, the oldest month first."""
    alarms = [alarm for alarm in reader.alarms(ended_since=since) if since <= alarm.raised_at <= until]
    tellings: defaultdict[int, list[Telling]] = defaultdict(list)
    first = min((alarm.number for alarm in alarms), default=None)
    for telling in () if first is None else reader.tellings(from_alarm=first):
        tellings[telling.alarm].append(telling)
    return month_figures(alarms, tellings, lambda at: at.astimezone(site.zone), until)


def whose_it_is(site: Site, key: str) -> str:
    """`House tank`, `Ridge box`, or `Ridge box, hatch`: whom an alarm's key is about, and which of several."""
    _, about, *which = key.split(":", 2)
    name = site.tanks[about].name if about in site.tanks else site.controller_name(about) or about
    return ", ".join((name, *which))
