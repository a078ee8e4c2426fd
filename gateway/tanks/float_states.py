"""One float's memory and a reading → its next memory and, perhaps, a switch that counts.

The life cycle is the table `TRANSITIONS`. A switch is debounced (the configuration calls it `settle`): the new state is only
pending until it has held for that long, and a contrary reading before then drops it as if it had never been. With a debounce of
nothing a pending state has held at once.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from gateway.facts import FloatState
from gateway.facts.states.controllers_and_tanks import FloatMemory

Known = Literal["unknown", "active", "idle"]
Trigger = Literal["active", "idle", "held"]
"""A reading, or the end of the debounce."""
Happened = Literal["began", "over", "first-idle", "nothing"]

TRANSITIONS: Mapping[tuple[Known, FloatState | None, Trigger], tuple[Known, FloatState | None, Happened]] = {
    # state, pending, trigger → state, pending, what happened
    ("unknown", None, "active"): ("unknown", "active", "nothing"),
    ("unknown", None, "idle"): ("idle", None, "first-idle"),
    ("unknown", "active", "active"): ("unknown", "active", "nothing"),
    ("unknown", "active", "idle"): ("idle", None, "first-idle"),
    ("unknown", "active", "held"): ("active", None, "began"),
    ("idle", None, "active"): ("idle", "active", "nothing"),
    ("idle", None, "idle"): ("idle", None, "nothing"),
    ("idle", "active", "active"): ("idle", "active", "nothing"),
    ("idle", "active", "idle"): ("idle", None, "nothing"),
    ("idle", "active", "held"): ("active", None, "began"),
    ("active", None, "active"): ("active", None, "nothing"),
    ("active", None, "idle"): ("active", "idle", "nothing"),
    ("active", "idle", "active"): ("active", None, "nothing"),
    ("active", "idle", "idle"): ("active", "idle", "nothing"),
    ("active", "idle", "held"): ("idle", None, "over"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Switched:
    """What a reading (or the end of its debounce) made happen, when; `was_since`: since when the state before it held."""

    happened: Happened
    at: datetime
    was_since: datetime | None = None


def distrust_future(memory: FloatMemory, latest: datetime) -> FloatMemory:
    """The memory without a `since` that no event can have by now: kept, it would make history of every text for years."""
    ahead = memory.since is not None and memory.since > latest
    return replace(memory, since=None) if ahead else memory


def apply_reading(
    memory: FloatMemory, reading: FloatState, at: datetime, now: datetime, debounce: timedelta
) -> tuple[FloatMemory, Switched]:
    """A reading comes in: `at` when it happened, `now` by our clock."""
    if memory.since is not None and at < memory.since:
        return memory, Switched(happened="nothing", at=at)
    after, switched = _step(memory, reading, at)
    if after.pending is None:
        return after, switched
    if debounce <= timedelta(0):
        return _step(after, "held", after.pending_at or at)
    return replace(after, pending_due=after.pending_due or now + debounce), switched


def apply_debounce(memory: FloatMemory, now: datetime, debounce: timedelta) -> tuple[FloatMemory, Switched | None]:
    """Time passes: a pending state that has held long enough counts, from when it was read."""
    if memory.pending is None or now < debounce_due(memory, now, debounce):
        return memory, None
    if memory.pending_due is None or memory.pending_due > now:
        pending_at = min(memory.pending_at or now, now)
        return replace(memory, pending_at=pending_at, pending_due=now + debounce), None
    return _step(memory, "held", memory.pending_at or now)


def debounce_due(memory: FloatMemory, now: datetime, debounce: timedelta) -> datetime:
    """When a pending state is to be looked at: at once where its time is further off than any debounce begun by now ends."""
    due = memory.pending_due
    return due if due is not None and due <= now + debounce else now


def _step(memory: FloatMemory, trigger: Trigger, at: datetime) -> tuple[FloatMemory, Switched]:
    row = (memory.state, memory.pending, trigger)
    if row not in TRANSITIONS:
        raise KeyError(f"a float that is {memory.state!r} (pending {memory.pending!r}) knows no {trigger!r}")
    state, pending, happened = TRANSITIONS[row]
    goes_on = pending is not None and pending == memory.pending
    after = FloatMemory(
        state=state,
        since=memory.since if state == memory.state else at,
        pending=pending,
        pending_at=memory.pending_at if goes_on else at if pending else None,
        pending_due=memory.pending_due if goes_on else None,
    )
    return after, Switched(happened=happened, at=at, was_since=memory.since if happened != "nothing" else None)
