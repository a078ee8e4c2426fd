"""How the alarm of a float ends where no text says so → on record: by reckoning, or since somebody says that the tank is well again."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Literal

from gateway.facts import Event, EventKind, input_key
from gateway.facts.states.controllers_and_tanks import FloatMemory, ReckonedEnd
from gateway.handlers.event_followers import record_event
from gateway.handlers.presence import end_draws
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.settings.people_tables import Contact
from gateway.settings.water_tables import Tank
from gateway.site import PlacedFloat
from gateway.status.float_ends import floats_to_reckon, reckon_end
from gateway.status.float_memory import float_memory, is_further
from gateway.status.snapshot import float_after, last_switch

ENDS: Mapping[tuple[str, str], EventKind] = {
    ("low", "said"): "low-over-said",
    ("low", "reckoned"): "low-over-reckoned",
    ("high", "said"): "high-over-said",
    ("high", "reckoned"): "high-over-reckoned",
}
"""(what the float means, how its alarm ended) → the event."""


def end_by_reckoning(unit: UnitOfWork) -> None:
    """Floats that never say that it is over: reckoned once when it began, and told when that time is there."""
    for placed, since, end in tuple(floats_to_reckon(unit.tx, unit.site)):
        if end is None:
            end = reckon_end(unit.tx, unit.site, placed, since, unit.now)
            unit.tx.set_state(end, placed.key)
        if unit.now >= end.due:
            unit.tx.clear_state(ReckonedEnd, placed.key)
            # unknown from now on: whatever the float says next is news
            unit.tx.set_state(FloatMemory(), placed.key)
            lasted_s = (unit.now - since).total_seconds()
            record_event(unit, _ended(unit, placed, "reckoned", {"since": since.isoformat(), "lasted_s": lasted_s}))


def end_by_word(unit: UnitOfWork, tank: Tank, *, by: Contact | None, text: str | None = None) -> tuple[Event, ...]:
    """Somebody says that the tank is well again: each float of it that is not known to be idle is idle by their word.

    So is one that left the configuration; where a gauge is, it alone says so.
    """
    ended: list[Event] = []
    detail, sender = {"who": by.name if by else None}, by.number if by else None
    for placed in unit.site.floats_of(tank.id):
        last = last_switch(unit.tx, placed, unit.now)
        if last is None or float_after(last) == "idle":
            continue
        unit.tx.clear_state(ReckonedEnd, placed.key)
        unit.tx.set_state(FloatMemory(state="idle", since=unit.now), placed.key)
        event = replace(_ended(unit, placed, "said", detail), text=text)
        ended.append(record_event(unit, replace(event, sender=sender)))
    for alarm in () if unit.site.gauges_of(tank.id) else unit.tx.alarms():
        kind = ENDS.get((alarm.kind, "said")) if alarm.tank == tank.id else None
        if kind is not None:
            ended.append(record_event(unit, unit.event(kind, detail, tank=tank.id, text=text, sender=sender)))
    return (*ended, *end_draws(unit, tank.id))


def end_of_further_floats(unit: UnitOfWork, placed: PlacedFloat, over: Event) -> None:
    """A float is idle: each beyond it must have switched back before, and its text of that was lost. What it says next is news."""
    for further in unit.site.floats_of(placed.tank.id):
        if is_further(further, placed) and float_memory(unit.tx, further).state == "active":
            unit.tx.clear_state(ReckonedEnd, further.key)
            unit.tx.set_state(FloatMemory(), further.key)
            detail = {"since": (last_switch(unit.tx, further, unit.now) or over).at.isoformat()}
            record_event(unit, replace(_ended(unit, further, "reckoned", detail), at=over.at), tell=False)


def _ended(unit: UnitOfWork, placed: PlacedFloat, how: Literal["said", "reckoned"], detail: Mapping[str, Any]) -> Event:
    kind = ENDS[(placed.float.means, how)]
    controller, input = placed.float.controller, input_key(placed.float.input)
    return unit.event(kind, detail, tank=placed.tank.id, controller=controller, input=input)
