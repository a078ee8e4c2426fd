"""The messages handed over last, and what was reported of them → whether the network takes everything and delivers nothing.

A report that does not come proves nothing of one message: a phone is off, a network is slow. Of several to whoever it was it does; of a
network that never gave a report it takes more of them, for some give none (`modem.delivery_reports = false` then).
"""

from collections.abc import Iterator
from datetime import datetime, timedelta

from gateway.ports import Reader
from gateway.site import Site
from gateway.status.gateway_troubles import trouble_since

FEWEST, FEWEST_WITHOUT_ANY_REPORT = 3, 10
LONGER_BY = 6
"""Than `call_out.delivered_within`: a phone that is off in the night is no fault of the network."""
LOOKED_AT = 50


def nothing_delivered(reader: Reader, site: Site, now: datetime) -> tuple[datetime, ...]:
    """When each message was handed over since the last that was reported delivered, the oldest first, where they are enough to say that
    nothing is delivered; not the newest, which may be on their way."""
    since, enough = _undelivered(reader, now - _patience(site))
    return since if site.settings.modem.delivery_reports and len(since) >= enough else ()


def delivery_dues(reader: Reader, site: Site, now: datetime) -> Iterator[datetime]:
    """When that must be looked at: as it may begin, and at once when it is over."""
    if trouble_since(reader, "nothing-delivered") is not None:
        if not nothing_delivered(reader, site, now):
            yield now
    elif site.settings.modem.delivery_reports:
        soon, enough = _undelivered(reader, now)
        if len(soon) >= enough:
            yield soon[enough - 1] + _patience(site)


def _undelivered(reader: Reader, until: datetime) -> tuple[tuple[datetime, ...], int]:
    """Those handed over by then, and how many are enough."""
    handed = reader.last_handed(LOOKED_AT)
    since: list[datetime] = []
    for handed_at, state in handed:
        if state == "delivered":
            break
        if handed_at <= until:
            since.insert(0, handed_at)
    any_report = any(state in ("delivered", "failed") for _, state in handed)
    return tuple(since), FEWEST if any_report else FEWEST_WITHOUT_ANY_REPORT


def _patience(site: Site) -> timedelta:
    return LONGER_BY * site.settings.call_out.delivered_within
