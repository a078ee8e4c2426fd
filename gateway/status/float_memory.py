"""What is remembered of a float between its texts: its state, what waits for its debounce, how it has been switching lately."""

from datetime import datetime

from gateway.facts import KINDS, Event, input_key
from gateway.facts.states.controllers_and_tanks import ChatterEpisode, FloatMemory
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


def is_said_by_another(reader: Reader, site: Site, over: Event) -> bool:
    """Whether another float, or a gauge, of the tank still says what this one says to be over.

    Not one that must have switched back before it, further down of two low ones: the text of that was lost.
    """
    means, ended = KINDS[over.kind].closes, _placed(site, over)
    for placed in site.floats_of(over.tank or ""):
        active = placed.float.means == means and float_memory(reader, placed).state == "active"
        if active and placed != ended and not is_further(placed, ended):
            return True
    for gauge in site.gauges_of(over.tank or ""):
        memory = gauge_memory(reader, gauge)
        # of the gauge itself the memory has moved on already
        if (memory.low if means == "low" else memory.high) and not memory.fault:
            return True
    return False


def is_of_further_float(site: Site, switch: Event, than: Event | None) -> bool:
    """Whether the water went on, to a float beyond the one of that event: further down, or up of two high ones."""
    return than is not None and switch.kind == than.kind and is_further(_placed(site, switch), _placed(site, than))


def is_further(placed: PlacedFloat | None, than: PlacedFloat | None) -> bool:
    """Whether the float is beyond the other: further down, or up of two high ones. Not where one of the two levels is unknown."""
    if placed is None or than is None or placed.float.level_m is None or than.float.level_m is None:
        return False
    if placed.float.means != than.float.means:
        return False
    if placed.float.means == "low":
        return placed.float.level_m < than.float.level_m
    return placed.float.level_m > than.float.level_m


def _placed(site: Site, switch: Event) -> PlacedFloat | None:
    return site.floats.get((switch.controller or "", input_key(switch.input) if switch.input is not None else ""))


def chatter_of(reader: Reader, placed: PlacedFloat) -> ChatterEpisode | None:
    """How a float has been switching lately; None: it has not, or nobody watches that."""
    return reader.state(ChatterEpisode, placed.key)
