"""Gauges that fall quiet while their box talks → since when, and when that must be said.

A gauge may be silent for as long as its box may: from then on its tank is unknown (`snapshot`), and nobody would learn why, for the box is
heard. Where the box is silent too, that is told, and its gauges follow from it.
"""

from collections.abc import Iterator
from datetime import datetime

from gateway.ports import Reader
from gateway.site import PlacedGauge, Site
from gateway.status.gauge_memory import gauge_memory
from gateway.status.silence import flagged_silent, last_heard, limit_of


def quiet_gauge_dues(reader: Reader, site: Site, now: datetime) -> Iterator[datetime]:
    """When each gauge of which nothing was read since must be told to be quiet."""
    yield from (due for _, _, due in gauges_to_fall_quiet(reader, site, now))


def gauges_to_fall_quiet(reader: Reader, site: Site, now: datetime) -> Iterator[tuple[PlacedGauge, datetime, datetime]]:
    """Each gauge that is well, whose box has been heard since it was read last: since when, and when it has been quiet for too long."""
    for placed in site.gauges.values():
        memory, controller = gauge_memory(reader, placed), site.controllers[placed.gauge.controller]
        if memory.fault or memory.seen_at is None or flagged_silent(reader, controller):
            continue
        heard, limit = last_heard(reader, controller, now), limit_of(reader, controller, known_by=now)
        if limit is not None and heard is not None and heard > memory.seen_at:
            yield placed, memory.seen_at, memory.seen_at + limit
