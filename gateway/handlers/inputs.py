"""A reading of an input that is no tank's (a lid, a door, a pump that stops) → told in the household's own words, once each way."""

from dataclasses import replace
from datetime import timedelta

from gateway.facts import Event, Reading, input_key
from gateway.facts.states.controllers_and_tanks import FloatMemory
from gateway.handlers.event_followers import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.inbox import latest_possible
from gateway.settings.controller_tables import Input
from gateway.tanks import apply_reading, distrust_future


def input_read(unit: UnitOfWork, own: Input, reading: Reading, event: Event) -> Event:
    """The reading's event, stored: a switch of the input, or `alive` where it only says again what was known."""
    assert reading.state is not None
    key = f"{own.controller}:{input_key(own.input)}"
    kept = unit.tx.state(FloatMemory, key) or FloatMemory()
    memory = distrust_future(kept, latest_possible(event.at, unit.now, trusted=unit.trusted))
    after, switched = apply_reading(memory, reading.state, event.at, unit.now, timedelta(0))
    if after != memory:
        unit.tx.set_state(after, key)
    if switched.happened == "nothing":
        return record_event(unit, replace(event, detail={**event.detail, "still": after.state}))
    active = switched.happened == "began"
    detail = {**event.detail, "name": own.name, "says": own.active_says if active else own.idle_says}
    if active:
        # what the file does not say of this input is as `[alarms.input-active]` says of all
        said = own.priority if "priority" in own.model_fields_set else ""
        detail |= {"advice": own.advice, "priority": said}
    elif switched.was_since is not None:
        detail["lasted_s"] = (switched.at - switched.was_since).total_seconds()
    kind = replace(event, kind="input-active" if active else "input-idle", detail=detail)
    # what was never heard to be active is no news when it is at rest
    return record_event(unit, kind, tell=switched.happened != "first-idle" and own.priority != "record")
