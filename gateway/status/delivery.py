"""The messages handed over last, and what was reported of them → whether the network takes everything and delivers nothing.

A report that does not come proves nothing of one message: a phone is off, a network is slow. Of several to whoever it was it does.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta

from gateway.ports import Reader
from gateway.site import Site
from gateway.status.troubles import trouble_since

FEWEST = 3
DELIVERED_WITHIN = timedelta(hours=1)
LOOKED_AT = 50


def undelivered(reader: Reader, now: datetime) -> tuple[datetime, ...]:
    """When each message was handed over since the last that was reported delivered, the oldest first; not the ones of the last hour."""
    since: list[datetime] = []
    for handed_at, state in reader.last_handed(LOOKED_AT):
        if state == "delivered":
            break
        if handed_at + DELIVERED_WITHIN <= now:
            since.insert(0, handed_at)
    return tuple(since)


def nothing_delivered(reader: Reader, site: Site, now: datetime) -> tuple[datetime, ...]:
    """The same where they are enough to say that nothing is delivered."""
    if not site.settings.modem.delivery_reports:
        return ()
    since = undelivered(reader, now)
    return since if len(since) >= FEWEST else ()


def delivery_dues(reader: Reader, site: Site, now: datetime) -> Iterator[datetime]:
    """When that must be looked at: as it may begin, and at once when it is over."""
    if trouble_since(reader, "nothing-delivered") is not None:
        if not nothing_delivered(reader, site, now):
            yield now
    elif site.settings.modem.delivery_reports:
        soon = undelivered(reader, now + DELIVERED_WITHIN)
        if len(soon) >= FEWEST:
            yield soon[FEWEST - 1] + DELIVERED_WITHIN
