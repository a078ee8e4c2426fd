"""A reading of an input → the float's memory moves, its event is stored and, if it counts, told.

A late text (`inbox/text_time.py`) that is older than what is already known about the float, or an imported one, is judged by what was known
then: it makes history, but does not move the present; that it came late is told. A float that chatters is told of once, until it is quiet.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from gateway.alarms.float_chatter import ChatterVerdict, count_switch, is_over
from gateway.alarms.matters import key_ended_by
from gateway.facts import Event, EventKind, Reading, input_key
from gateway.facts.states.controllers_and_tanks import ChatterEpisode, FloatMemory, PendingText
from gateway.handlers.event_followers import record_event
from gateway.handlers.float_ends import end_of_further_floats
from gateway.handlers.notify import notify_of_late
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.inbox import latest_possible
from gateway.site import PlacedFloat
from gateway.status.float_memory import chatter_of, float_memory, float_memory_then
from gateway.status.snapshot import take_snapshot
from gateway.tanks import Switched, apply_debounce, apply_reading, distrust_future

SWITCHES: Mapping[tuple[str, str], EventKind] = {
    ("low", "began"): "low",
    ("low", "over"): "low-over",
    ("low", "first-idle"): "low-over",
    ("high", "began"): "high",
    ("high", "over"): "high-over",
    ("high", "first-idle"): "high-over",
}


def float_read(unit: UnitOfWork, placed: PlacedFloat, reading: Reading, event: Event) -> Event:
    """The reading's event, stored: a switch of the float, or `alive` where it only says again what was known."""
    assert reading.state is not None
    kept = float_memory(unit.tx, placed)
    memory = distrust_future(kept, latest_possible(event.at, unit.now, trusted=unit.trusted))
    earlier = memory.since is not None and event.at < memory.since
    past = unit.imported or (earlier and event.detail.get("time") == "late")
    if earlier and not past:
        # what came last counts, whatever time our clock or a stamp gave the texts before
        memory = replace(memory, since=None)
    if not past and _is_again(unit, placed, memory, reading, event):
        memory = FloatMemory()
    before = float_memory_then(unit.tx, placed, event.at) if past else memory
    debounce = timedelta(0) if past else placed.float.settle
    after, switched = apply_reading(before, reading.state, event.at, unit.now, debounce)
    # of a past that nobody knew (an import into an empty store) the newest text still says how the float stands
    if not past or kept.since is None or (after.since is not None and after.since >= kept.since):
        _remember(unit, placed, after, event)
    if switched.happened == "nothing":
        detail = {**event.detail, "settling" if after.pending else "still": after.pending or after.state}
        stored = record_event(unit, replace(event, tank=placed.tank.id, detail=detail))
    else:
        stored = _record_switch(unit, placed, switched, event, past=past)
    if past and not unit.imported:
        notify_of_late(unit, stored)
    return stored


def _is_again(unit: UnitOfWork, placed: PlacedFloat, memory: FloatMemory, reading: Reading, event: Event) -> bool:
    """Whether a float that is active already says so so long after it last did that it must have been idle between, or nobody remembers.

    A box that texts only when a contact closes, or whose text of the end was lost, would else be heard once in its life.
    """
    if reading.state != "active" or memory.state != "active" or memory.pending is not None:
        return False
    kinds = (placed.float.means, "alive")
    input = input_key(placed.float.input)
    last = unit.tx.last_event(kinds, tank=placed.tank.id, controller=placed.float.controller, input=input)
    return last is not None and event.at - last.at >= unit.site.settings.call_out.again_after


def end_debounces(unit: UnitOfWork) -> None:
    """Pending switches whose debounce is over count now."""
    for placed in unit.site.floats.values():
        memory = float_memory(unit.tx, placed)
        after, switched = apply_debounce(memory, unit.now, placed.float.settle)
        if switched is not None:
            _count_pending(unit, placed, memory.pending_text, after, switched)
        elif after != memory:
            # its end was set by a clock that was ahead: it begins anew, and the words of the text that began it stay
            unit.tx.set_state(after, placed.key)


def end_chatter(unit: UnitOfWork) -> None:
    """Floats that have been quiet long enough are watched as usual again; told with how they stand."""
    for placed in unit.site.floats.values():
        episode = chatter_of(unit.tx, placed)
        if episode is None or not is_over(episode, unit.now):
            continue
        unit.tx.clear_state(ChatterEpisode, placed.key)
        if episode.restless:
            active = float_memory(unit.tx, placed).state == "active"
            detail = {"state": placed.float.means if active else _state_when_quiet(unit, placed)}
            record_event(unit, _of_float(unit, placed, "float-quiet", unit.now, detail))


def _state_when_quiet(unit: UnitOfWork, placed: PlacedFloat) -> str:
    """`ok` where the float said that it is idle; `unknown` where it never did, or its controller is silent by now."""
    tank = take_snapshot(unit.tx, unit.site, unit.now, numbers=False).tank(placed.tank.id)
    states = [of_tank.now.state for of_tank in tank.floats if of_tank.placed.key == placed.key]
    return "ok" if states == ["idle"] else "unknown"


def _count_pending(
    unit: UnitOfWork, placed: PlacedFloat, began: PendingText | None, after: FloatMemory, switched: Switched
) -> None:
    """`began`: the text that it was read in."""
    _remember(unit, placed, after, None)
    event = unit.event(
        "alive",
        {"settled_s": placed.float.settle.total_seconds()},
        at=switched.at,
        controller=placed.float.controller,
        input=str(placed.float.input),
        text=began.text if began is not None else None,
        sender=began.sender if began is not None else None,
    )
    _record_switch(unit, placed, switched, event)


def _record_switch(
    unit: UnitOfWork, placed: PlacedFloat, switched: Switched, event: Event, *, past: bool = False
) -> Event:
    detail = dict(event.detail)
    if switched.was_since is not None:
        detail["lasted_s"] = (switched.at - switched.was_since).total_seconds()
    if switched.happened == "first-idle":
        detail["first"] = True
    kind = SWITCHES[(placed.float.means, switched.happened)]
    switch = replace(event, kind=kind, at=switched.at, tank=placed.tank.id, detail=detail)
    if past or switched.happened == "first-idle":
        stored = record_event(unit, switch, tell=not past and _is_open(unit, key_ended_by(switch)), past=past)
        if not past:
            end_of_further_floats(unit, placed, stored)
        return stored
    verdict, episode = _count_switch(unit, placed, switched.at)
    stored = record_event(unit, switch, tell=verdict == "fine")
    if switched.happened == "over":
        end_of_further_floats(unit, placed, stored)
    if verdict == "starts":
        fault = {"count": len(episode.changes), "since": min(episode.changes).isoformat()}
        record_event(unit, _of_float(unit, placed, "float-fault", stored.at, fault))
    return stored


def _is_open(unit: UnitOfWork, key: str | None) -> bool:
    """Whether people were told of it, by another float of the tank: then a first idle reading that ends it is told too."""
    return any(alarm.key == key and not alarm.is_reckoned for alarm in unit.tx.alarms())


def _count_switch(unit: UnitOfWork, placed: PlacedFloat, at: datetime) -> tuple[ChatterVerdict, ChatterEpisode]:
    """One switch more; `fine` where chatter is not watched."""
    before = chatter_of(unit.tx, placed) or ChatterEpisode()
    if not unit.site.settings.limits.chatter:
        return "fine", before
    episode, verdict = count_switch(before, at)
    unit.tx.set_state(episode, placed.key)
    return verdict, episode


def _of_float(unit: UnitOfWork, placed: PlacedFloat, kind: EventKind, at: datetime, detail: Mapping[str, Any]) -> Event:
    controller, input = placed.float.controller, str(placed.float.input)
    return unit.event(kind, detail, at=at, tank=placed.tank.id, controller=controller, input=input)


def _remember(unit: UnitOfWork, placed: PlacedFloat, memory: FloatMemory, event: Event | None) -> None:
    """`event`: of the text that began what is pending, whose words are told once it counts."""
    pending_text = None
    if memory.pending is not None and event is not None:
        pending_text = PendingText(text=event.text, sender=event.sender)
    unit.tx.set_state(replace(memory, pending_text=pending_text), placed.key)
