"""One float's memory and a reading → its next memory and, perhaps, a switch that counts.

The life cycle is a table: (what it was, what was read) → what happened. `debounce` delays a switch: the new state is
only `pending` until it has held that long; a contrary reading before then drops it as if it had never been.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any, Literal

from gateway.facts import FloatState
from gateway.facts.moments import time_of

Known = Literal["unknown", "active", "idle"]
Happened = Literal["began", "over", "first-idle", "nothing"]

TRANSITIONS: Mapping[tuple[Known, FloatState], Happened] = {
    ("unknown", "active"): "began",
    ("unknown", "idle"): "first-idle",
    ("idle", "active"): "began",
    ("idle", "idle"): "nothing",
    ("active", "idle"): "over",
    ("active", "active"): "nothing",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class FloatMemory:
    """What is known of a float. `pending` waits until `pending_due` (our clock); `pending_at` is the text's time."""

    state: Known = "unknown"
    since: datetime | None = None
    pending: FloatState | None = None
    pending_at: datetime | None = None
    pending_due: datetime | None = None

    def as_json(self) -> dict[str, Any]:
        """JSON values only."""
        return {
            "state": self.state,
            "since": _iso(self.since),
            "pending": self.pending,
            "pending_at": _iso(self.pending_at),
            "pending_due": _iso(self.pending_due),
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any] | None) -> "FloatMemory":
        """The reverse of `as_json`; None: nothing is known yet."""
        if not data:
            return cls()
        return cls(
            state=data["state"],
            since=time_of(data["since"]),
            pending=data.get("pending"),
            pending_at=time_of(data.get("pending_at")),
            pending_due=time_of(data.get("pending_due")),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Switched:
    """What a reading (or the end of its debounce) made happen, when; `was_since`: since when the state before it held."""

    happened: Happened
    at: datetime
    was_since: datetime | None = None


def apply_reading(
    memory: FloatMemory, read: FloatState, at: datetime, now: datetime, debounce: timedelta
) -> tuple[FloatMemory, Switched]:
    """A reading comes in: `at` when it happened, `now` by our clock, `debounce` how long a new state must hold (`settle` in the file)."""
    if (memory.state, read) not in TRANSITIONS:
        raise KeyError(f"no transition from a float that is {memory.state!r} with reading {read!r}")
    if memory.since is not None and at < memory.since:
        return memory, Switched(happened="nothing", at=at)
    if memory.state == read:
        return replace(memory, pending=None, pending_at=None, pending_due=None), Switched(happened="nothing", at=at)
    if debounce <= timedelta(0) or (memory.state == "unknown" and read == "idle"):
        return _switch(memory, read, at)
    if memory.pending == read:
        return memory, Switched(happened="nothing", at=at)
    waiting = replace(memory, pending=read, pending_at=at, pending_due=now + debounce)
    return waiting, Switched(happened="nothing", at=at)


def apply_debounce(memory: FloatMemory, now: datetime) -> tuple[FloatMemory, Switched | None]:
    """Time passes: a pending state that has held long enough counts, from when it was read."""
    if memory.pending is None or memory.pending_due is None or now < memory.pending_due:
        return memory, None
    return _switch(memory, memory.pending, memory.pending_at or now)


def _switch(memory: FloatMemory, read: FloatState, at: datetime) -> tuple[FloatMemory, Switched]:
    happened = TRANSITIONS[(memory.state, read)]
    return FloatMemory(state=read, since=at), Switched(happened=happened, at=at, was_since=memory.since)


def _iso(at: datetime | None) -> str | None:
    return at.isoformat() if at else None
