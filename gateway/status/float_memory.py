"""What is remembered of a float between its texts: its state, what waits for its debounce, how it has been switching lately."""

from datetime import datetime

from gateway.alarms.float_chatter import ChatterEpisode
from gateway.facts import Event
from gateway.ports import Reader
from gateway.site import PlacedFloat, Site
from gateway.status.snapshot import last_switch
from gateway.tanks import FloatMemory


def float_memory(reader: Reader, placed: PlacedFloat) -> FloatMemory:
    """What is remembered of a float: its state, since when, and what waits for its debounce."""
    return FloatMemory.from_json(reader.mark(placed.key))


def float_memory_then(reader: Reader, placed: PlacedFloat, at: datetime) -> FloatMemory:
    """The float as it was known at that time."""
    last = last_switch(reader, placed, at)
    if last is None:
        return FloatMemory()
    return FloatMemory(state="active" if last.kind == placed.float.means else "idle", since=last.at)


def active_event(reader: Reader, site: Site, tank: str) -> Event | None:
    """The event that says the tank is low or high now, if it is."""
    for placed in site.floats_of(tank):
        if float_memory(reader, placed).state == "active":
            last = reader.last_event((placed.float.means,), tank=tank)
            if last is not None:
                return last
    return None


def chatter_of(reader: Reader, placed: PlacedFloat) -> ChatterEpisode | None:
    """How a float has been switching lately; None: it has not, or nobody watches that."""
    kept = reader.mark(chatter_key(placed))
    return None if kept is None else ChatterEpisode.from_json(kept)


def chatter_key(placed: PlacedFloat) -> str:
    """Under which mark that is kept."""
    return f"chatter:{placed.key}"
