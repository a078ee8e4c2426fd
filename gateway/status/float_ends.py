"""Floats whose alarm nobody ever says to be over → until when it stands by reckoning, and when that must be looked at.

A box that texts only when a contact closes is heard once, and would be low for the rest of its life. Its alarm stands for as long as
the tank takes to fill at the longest, and never ends before the earliest time at which it may be dry: the call before that comes first.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta

from gateway.facts.states.controllers_and_tanks import ReckonedEnd
from gateway.ports import Reader
from gateway.site import PlacedFloat, Site
from gateway.status.float_memory import float_memory
from gateway.status.forecast import forecast_of, longest_refill_of

LONGEST_REFILL = timedelta(days=7)
"""A supply that nobody configured may take weeks as far as anybody knows; a text that old says nothing of today (common practice)."""
UNKNOWN_REFILL = timedelta(days=2)
"""Where neither source, use nor past fills say how long one takes, and for a high float, which falls by use (common practice)."""


def reckoned_end_dues(reader: Reader, site: Site, now: datetime) -> Iterator[datetime]:
    """When each float that is active and never says otherwise is reckoned to be idle; now, where that was not reckoned yet."""
    for _, _, end in floats_to_reckon(reader, site):
        yield now if end is None else end.due


def floats_to_reckon(reader: Reader, site: Site) -> Iterator[tuple[PlacedFloat, datetime, ReckonedEnd | None]]:
    """Each such float, since when it is active, and what was reckoned of this alarm of it."""
    for placed in (placed for placed in site.floats.values() if placed.ends == "reckoned"):
        memory = float_memory(reader, placed)
        if memory.state == "active" and memory.pending is None and memory.since is not None:
            end = reader.state(ReckonedEnd, placed.key)
            yield placed, memory.since, end if end is not None and end.since == memory.since else None


def reckon_end(reader: Reader, site: Site, placed: PlacedFloat, active_since: datetime, now: datetime) -> ReckonedEnd:
    """When the alarm of a float that went active then is reckoned to be over."""
    refill = longest_refill_of(reader, site, placed.tank, now) if placed.float.means == "low" else None
    due = active_since + (UNKNOWN_REFILL if refill is None else min(refill, LONGEST_REFILL))
    forecast = forecast_of(reader, site, placed.tank.id, now)
    if forecast is not None and forecast.dry_at is not None:
        due = max(due, forecast.dry_at[0])
    return ReckonedEnd(since=active_since, due=due)
