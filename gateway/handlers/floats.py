"""A reading of an input → the float's memory moves, its event is stored and, if it counts, told.

A text that is older than what is already known about the float (a late one, or an import) is judged by what was known
then: it makes history, but neither moves the present nor calls anybody.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta

from gateway.facts import Event, EventKind, Reading
from gateway.handlers import chatter
from gateway.handlers.record import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.inbox import latest_possible
from gateway.site import PlacedFloat
from gateway.tanks import FloatMemory, Switched, apply_debounce, apply_reading, distrust_future

KINDS: Mapping[tuple[str, str], EventKind] = {
    ("low", "began"): "low",
    ("low", "over"): "low-over",
    ("low", "first-idle"): "low-over",
    ("high", "began"): "high",
    ("high", "over"): "high-over",
    ("high", "first-idle"): "high-over",
}
PENDING_TEXT = "pending_text"


def feel(unit: UnitOfWork, placed: PlacedFloat, reading: Reading, event: Event) -> Event:
    """The reading's event, stored: a switch of the float, or `alive` where it only says again what was known."""
    kept = remembered(unit, placed)
    memory = distrust_future(kept, latest_possible(event.at, unit.now, trusted=unit.trusted))
    past = unit.imported or (memory.since is not None and event.at < memory.since)
    before = _known_then(unit, placed, event) if past else memory
    debounce = timedelta(0) if past else placed.float.settle
    assert reading.state is not None
    after, switched = apply_reading(before, reading.state, event.at, unit.now, debounce)
    if not past or kept.since is None or (after.since is not None and after.since >= kept.since):
        _remember(unit, placed, after, event)
    if switched.happened == "nothing":
        detail = {**event.detail, "settling" if after.pending else "still": after.pending or after.state}
        return record_event(unit, replace(event, tank=placed.tank.id, detail=detail))
    return _switch(unit, placed, switched, event, quietly=past)


def debounces_due(unit: UnitOfWork) -> bool:
    """Pending switches whose debounce is over count now. True if there was one."""
    any_due = False
    for placed in unit.site.floats.values():
        memory = remembered(unit, placed)
        after, switched = apply_debounce(memory, unit.now, placed.float.settle)
        if switched is None:
            if after != memory:
                _restart_debounce(unit, placed, after)
            continue
        any_due = True
        said = unit.tx.mark(placed.key).get(PENDING_TEXT) or {}
        _remember(unit, placed, after, None)
        event = Event(
            kind="alive",
            at=switched.at,
            heard_at=unit.now,
            known_at=unit.now,
            controller=placed.float.controller,
            input=str(placed.float.input),
            text=said.get("text"),
            sender=said.get("sender"),
            detail={"settled_s": placed.float.settle.total_seconds()},
        )
        _switch(unit, placed, switched, event)
    return any_due


def _restart_debounce(unit: UnitOfWork, placed: PlacedFloat, memory: FloatMemory) -> None:
    """Its end was set by a clock that was ahead; the words of the text that began it stay."""
    unit.tx.set_mark(placed.key, {**unit.tx.mark(placed.key), **memory.as_json()})


def remembered(unit: UnitOfWork, placed: PlacedFloat) -> FloatMemory:
    """The float's memory as it stands in the store."""
    return FloatMemory.from_json(unit.tx.mark(placed.key))


def _switch(unit: UnitOfWork, placed: PlacedFloat, switched: Switched, event: Event, *, quietly: bool = False) -> Event:
    detail = dict(event.detail)
    if switched.was_since is not None:
        detail["lasted_s"] = (switched.at - switched.was_since).total_seconds()
    if switched.happened == "first-idle":
        detail["first"] = True
    counted = replace(
        event, kind=KINDS[(placed.float.means, switched.happened)], at=switched.at, tank=placed.tank.id, detail=detail
    )
    if quietly or switched.happened == "first-idle":
        return record_event(unit, counted, tell=False, past=quietly)
    restless = chatter.watch(unit, placed, switched.at)
    stored = record_event(unit, counted, tell=restless == "fine")
    if restless == "starts":
        chatter.begins(unit, placed, stored)
    return stored


def _known_then(unit: UnitOfWork, placed: PlacedFloat, event: Event) -> FloatMemory:
    means = placed.float.means
    last = unit.tx.last_event(
        (means, f"{means}-over"),
        tank=placed.tank.id,
        controller=placed.float.controller,
        input=event.input,
        known_by=event.at,
    )
    if last is None:
        return FloatMemory()
    return FloatMemory(state="active" if last.kind == means else "idle", since=last.at)


def _remember(unit: UnitOfWork, placed: PlacedFloat, memory: FloatMemory, event: Event | None) -> None:
    data = memory.as_json()
    if memory.pending is not None and event is not None:
        data[PENDING_TEXT] = {"text": event.text, "sender": event.sender}
    unit.tx.set_mark(placed.key, data)
