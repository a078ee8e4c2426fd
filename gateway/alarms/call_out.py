"""A call-out's life as a table, and its state as JSON.

    open → (taken | unanswered) → closed

`open`: told turn by turn, nobody took it yet. `taken`: somebody has it. `unanswered`: the last turn passed; everyone was told
so. `closed`: every alarm of it is over. A pair that the table lacks raises and names both.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from gateway.alarms.alarm import Alarm

State = Literal["open", "taken", "unanswered", "closed"]
Trigger = Literal["join", "turn-passes", "last-turn-passes", "take", "remind", "all-over"]

TRANSITIONS: Mapping[tuple[State, Trigger], State] = {
    ("open", "join"): "open",
    ("open", "turn-passes"): "open",
    ("open", "last-turn-passes"): "unanswered",
    ("open", "take"): "taken",
    ("open", "remind"): "open",
    ("open", "all-over"): "closed",
    ("taken", "join"): "taken",
    ("taken", "all-over"): "closed",
    ("unanswered", "join"): "open",
    ("unanswered", "take"): "taken",
    ("unanswered", "remind"): "unanswered",
    ("unanswered", "all-over"): "closed",
}


def next_state(state: State, trigger: Trigger) -> State:
    """Where the trigger leads. Raises KeyError naming both."""
    if (state, trigger) not in TRANSITIONS:
        raise KeyError(f"a call-out that is {state!r} cannot meet {trigger!r}")
    return TRANSITIONS[(state, trigger)]


@dataclass(frozen=True, slots=True, kw_only=True)
class CallOut:
    """One call-out. `told`: contact → when first told; `turn`: the turn reached; `turn_at`: when it was told.

    `judged`: this turn's messages had their time to arrive, and what became of them has been looked at.
    """

    state: State
    alarms: tuple[Alarm, ...]
    subject: str
    opened_at: datetime
    turn: int
    turn_at: datetime
    told: Mapping[str, datetime]
    reminded_at: datetime
    taken_by: str | None = None
    taken_at: datetime | None = None
    judged: bool = False

    def as_json(self) -> dict[str, Any]:
        """JSON values only."""
        return {
            "state": self.state,
            # the word of the first version, which old stores and their events hold
            "matters": [[alarm.key, alarm.kind, alarm.event] for alarm in self.alarms],
            "subject": self.subject,
            "opened_at": self.opened_at.isoformat(),
            "turn": self.turn,
            "turn_at": self.turn_at.isoformat(),
            "told": {contact: at.isoformat() for contact, at in self.told.items()},
            "reminded_at": self.reminded_at.isoformat(),
            "taken_by": self.taken_by,
            "taken_at": self.taken_at.isoformat() if self.taken_at else None,
            "judged": self.judged,
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> "CallOut":
        """The reverse of `as_json`."""
        return cls(
            state=data["state"],
            alarms=tuple(Alarm(key=key, kind=kind, event=event) for key, kind, event in data["matters"]),
            subject=data["subject"],
            opened_at=datetime.fromisoformat(data["opened_at"]),
            turn=data["turn"],
            turn_at=datetime.fromisoformat(data["turn_at"]),
            told={contact: datetime.fromisoformat(at) for contact, at in data["told"].items()},
            reminded_at=datetime.fromisoformat(data["reminded_at"]),
            taken_by=data["taken_by"],
            taken_at=datetime.fromisoformat(data["taken_at"]) if data["taken_at"] else None,
            judged=data.get("judged", False),
        )
