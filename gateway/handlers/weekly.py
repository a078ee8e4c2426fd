"""Once a week → "all is well, these seven days" to who wants it, so that silence of the gateway itself is noticed too.

All is well only where no tank is low, every controller is heard, and nothing is wrong with the gateway itself; that stands first.

Mark `weekly:sent`: the local date it was last sent for. Down over the hour: it is sent once at the next start, that day.
"""

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta

from gateway.handlers.enqueue import enqueue
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.inbox import clock_trusted
from gateway.phrases.phrasebook import Label, Line
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.summary import week_list, well_now
from gateway.status.troubles import troubles

DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
MARK = "weekly:sent"


def next_due(reader: Reader, site: Site, now: datetime) -> datetime | None:
    """When the next one is due."""
    digest = site.settings.digest
    if digest.day == "off" or not digest.contacts or not clock_trusted(now, None):
        return None
    local = now.astimezone(site.zone)
    ahead = (DAYS.index(digest.day) - local.weekday()) % 7
    day = local.date() + timedelta(days=ahead)
    if day.isoformat() == reader.mark(MARK):
        day += timedelta(days=7)
    return _at(site, day)


def due(unit: UnitOfWork) -> bool:
    """Sends it if it is due. True if it was."""
    when = next_due(unit.tx, unit.site, unit.now)
    if when is None or when > unit.now:
        return False
    site = unit.site
    unit.tx.set_mark(MARK, when.astimezone(site.zone).date().isoformat())
    wrong = troubles(unit.tx)
    key = "well" if well_now(unit.tx, unit.site, unit.now) and not wrong else "not-well"
    for one in site.settings.digest.contacts:
        contact = site.contacts.get(one)
        if contact is not None:
            values = {
                "list": f"{_wrong(site, wrong, contact.line)}{week_list(unit.tx, unit.site, unit.now, contact.line)}"
            }
            said = site.phrases.message(key, values, segments=site.settings.limits.segments, line=contact.line)
            enqueue(unit, contact, said, urgent=False, subject="gateway")
    return True


def _wrong(site: Site, kinds: Sequence[str], line: Line) -> str:
    return "".join(f"{site.phrases.week_line('trouble', {'what': Label(kind)}, line=line)} " for kind in kinds)


def _at(site: Site, day: date) -> datetime:
    hour, minute = (int(part) for part in site.settings.digest.time.split(":"))
    return datetime.combine(day, time(hour, minute), tzinfo=site.zone)
