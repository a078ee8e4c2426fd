"""Once a week → "all is well, these seven days" to who wants it, so that silence of the gateway itself is noticed too.

All is well only where no tank is low, every controller is heard, and nothing is wrong with the gateway itself; that stands first.

Mark `weekly:sent`: the local date it was last sent for. Down over the hour: it is sent once at the next start, that day.
"""

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta

from gateway.flow.gateway_health import troubles
from gateway.flow.house import House, Moment
from gateway.flow.post import post
from gateway.flow.summary import week_list, well_now
from gateway.inbox import clock_trusted
from gateway.phrases.book import Label, Line
from gateway.ports import Reader

DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
MARK = "weekly:sent"


def next_due(reader: Reader, house: House, now: datetime) -> datetime | None:
    """When the next one is due."""
    digest = house.settings.digest
    if digest.day == "off" or not digest.contacts or not clock_trusted(now, None):
        return None
    local = now.astimezone(house.zone)
    ahead = (DAYS.index(digest.day) - local.weekday()) % 7
    day = local.date() + timedelta(days=ahead)
    if day.isoformat() == reader.mark(MARK):
        day += timedelta(days=7)
    return _at(house, day)


def due(moment: Moment) -> bool:
    """Sends it if it is due. True if it was."""
    when = next_due(moment.tx, moment.house, moment.now)
    if when is None or when > moment.now:
        return False
    house = moment.house
    moment.tx.set_mark(MARK, when.astimezone(house.zone).date().isoformat())
    wrong = troubles(moment.tx)
    key = "well" if well_now(moment) and not wrong else "not-well"
    for one in house.settings.digest.contacts:
        contact = house.contacts.get(one)
        if contact is not None:
            values = {"list": f"{_wrong(house, wrong, contact.line)}{week_list(moment, contact.line)}"}
            said = house.phrases.say(key, values, segments=house.settings.limits.segments, line=contact.line)
            post(moment, contact, said, urgent=False, subject="gateway")
    return True


def _wrong(house: House, kinds: Sequence[str], line: Line) -> str:
    return "".join(f"{house.phrases.week_line('trouble', {'what': Label(kind)}, line=line)} " for kind in kinds)


def _at(house: House, day: date) -> datetime:
    hour, minute = (int(part) for part in house.settings.digest.time.split(":"))
    return datetime.combine(day, time(hour, minute), tzinfo=house.zone)
