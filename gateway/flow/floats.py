"""A reading of an input → the float's memory moves, its event is stored and, if it counts, told.

A text that is older than what is already known about the float (a late one, or an import) is judged by what was known
then: it makes history, but neither moves the present nor calls anybody.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta

from gateway.facts import Event, EventKind, Reading
from gateway.flow import chatter
from gateway.flow.happen import happen
from gateway.flow.house import Moment, PlacedFloat
from gateway.tanks import FloatMemory, Switched
from gateway.tanks import feel as feel_float
from gateway.tanks import settle as settle_float

KINDS: Mapping[tuple[str, str], EventKind] = {
    ("low", "began"): "low",
    ("low", "over"): "low-over",
    ("low", "first-idle"): "low-over",
    ("high", "began"): "high",
    ("high", "over"): "high-over",
    ("high", "first-idle"): "high-over",
}
PENDING_TEXT = "pending_text"


def feel(moment: Moment, placed: PlacedFloat, reading: Reading, event: Event) -> Event:
    """The reading's event, stored: a switch of the float, or `alive` where it only says again what was known."""
    memory = remembered(moment, placed)
    past = moment.imported or (memory.since is not None and event.at < memory.since)
    before = _known_then(moment, placed, event) if past else memory
    hold = timedelta(0) if past else placed.float.settle
    assert reading.state is not None
    after, switched = feel_float(before, reading.state, event.at, moment.now, hold)
    if not past or memory.since is None or (after.since is not None and after.since >= memory.since):
        _remember(moment, placed, after, event)
    if switched.happened == "nothing":
        detail = {**event.detail, "settling" if after.pending else "still": after.pending or after.state}
        return happen(moment, replace(event, tank=placed.tank.id, detail=detail))
    return _switch(moment, placed, switched, event, quietly=past)


def settle_due(moment: Moment) -> bool:
    """Pending switches whose `settle` is over count now. True if there was one."""
    any_due = False
    for placed in moment.house.floats.values():
        memory = remembered(moment, placed)
        after, switched = settle_float(memory, moment.now)
        if switched is None:
            continue
        any_due = True
        said = moment.tx.mark(placed.key).get(PENDING_TEXT) or {}
        _remember(moment, placed, after, None)
        event = Event(
            kind="alive",
            at=switched.at,
            heard_at=moment.now,
            known_at=moment.now,
            controller=placed.float.controller,
            input=str(placed.float.input),
            text=said.get("text"),
            sender=said.get("sender"),
            detail={"settled_s": placed.float.settle.total_seconds()},
        )
        _switch(moment, placed, switched, event)
    return any_due


def remembered(moment: Moment, placed: PlacedFloat) -> FloatMemory:
    """The float's memory as it stands in the store."""
    return FloatMemory.from_json(moment.tx.mark(placed.key))


def _switch(moment: Moment, placed: PlacedFloat, switched: Switched, event: Event, *, quietly: bool = False) -> Event:
    detail = dict(event.detail)
    if switched.was_since is not None:
        detail["lasted_s"] = (switched.at - switched.was_since).total_seconds()
    if switched.happened == "first-idle":
        detail["first"] = True
    counted = replace(
        event, kind=KINDS[(placed.float.means, switched.happened)], at=switched.at, tank=placed.tank.id, detail=detail
    )
    if quietly or switched.happened == "first-idle":
        return happen(moment, counted, tell=False, past=quietly)
    restless = chatter.watch(moment, placed, switched.at)
    stored = happen(moment, counted, tell=restless == "fine")
    if restless == "starts":
        chatter.begins(moment, placed, stored)
    return stored


def _known_then(moment: Moment, placed: PlacedFloat, event: Event) -> FloatMemory:
    means = placed.float.means
    last = moment.tx.last_event(
        (means, f"{means}-over"),
        tank=placed.tank.id,
        controller=placed.float.controller,
        input=event.input,
        known_by=event.at,
    )
    if last is None:
        return FloatMemory()
    return FloatMemory(state="active" if last.kind == means else "idle", since=last.at)


def _remember(moment: Moment, placed: PlacedFloat, memory: FloatMemory, event: Event | None) -> None:
    data = memory.as_json()
    if memory.pending is not None and event is not None:
        data[PENDING_TEXT] = {"text": event.text, "sender": event.sender}
    moment.tx.set_mark(placed.key, data)
