"""What is remembered of a float between its texts: its state, what waits for its debounce, how it has been switching lately."""

from datetime import datetime

from gateway.facts import Event
from gateway.facts.states import ChatterEpisode, FloatMemory
from gateway.ports import Reader
from gateway.site import PlacedFloat, Site
from gateway.status.gauge_memory import gauge_memory
from gateway.status.snapshot import float_after, last_switch


def float_memory(reader: Reader, placed: PlacedFloat) -> FloatMemory:
    """What is remembered of a float: its state, since when, and what waits for its debounce."""
    return reader.state(FloatMemory, placed.key) or FloatMemory()


def float_memory_then(reader: Reader, placed: PlacedFloat, at: datetime) -> FloatMemory:
    """The float as it was known at that time."""
    last = last_switch(reader, placed, at)
    if last is None:
        return FloatMemory()
    state = float_after(last)
    return FloatMemory(state=state, since=None if state == "unknown" else last.at)


def active_event(reader: Reader, site: Site, tank: str) -> Event | None:
    """The event that says the tank is low or high now, if it is."""
    for placed in site.floats_of(tank):
        if float_memory(reader, placed).state == "active":
            last = reader.last_event((placed.float.means,), tank=tank)
            if last is not None:
                return last
    for gauge in site.gauges_of(tank):
        memory = gauge_memory(reader, gauge)
        kinds = (*(("low",) if memory.low else ()), *(("high",) if memory.high else ()))
        last = reader.last_event(kinds, tank=tank) if kinds and not memory.fault else None
        if last is not None:
            return last
    return None


def chatter_of(reader: Reader, placed: PlacedFloat) -> ChatterEpisode | None:
    """How a float has been switching lately; None: it has not, or nobody watches that."""
    return reader.state(ChatterEpisode, placed.key)
