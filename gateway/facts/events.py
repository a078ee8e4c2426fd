"""What was learnt: past-tense events in one closed list of kinds."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Literal

EventKind = Literal[
    "low",
    "low-over",
    "high",
    "high-over",
    "silent",
    "heard-again",
    "power-lost",
    "power-back",
    "reading",
    "alive",
    "unread",
    "note",
    "taken",
    "unanswered",
    "ran-dry",
    "paused",
    "pause-over",
    "gateway-started",
    "gateway-stopped",
    "modem-lost",
    "modem-back",
    "sim-trouble",
    "sim-back",
    "signal-lost",
    "signal-back",
    "clock-untrusted",
    "clock-set",
    "store-trouble",
    "store-back",
    "backup-made",
    "backup-failed",
    "backup-back",
    "signal-weak",
    "signal-good",
    "disk-low",
    "disk-back",
    "outbox-waits",
    "outbox-moves",
    "credit-low",
    "credit-back",
    "credit-unread",
    "battery-low",
    "battery-back",
    "supply-weaker",
    "float-fault",
    "float-quiet",
    "given-up",
    "cancelled",
    "held-back",
    "odd",
    "loop-stopped",
    "reloaded",
    "reload-refused",
]

URGENT_KINDS: frozenset[str] = frozenset({"low", "ran-dry", "silent", "power-lost", "battery-low", "high"})
"""Kinds that open a call-out and break quiet hours unless the configuration says otherwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One thing that was learnt, named and timed. `id` is None until it is stored.

    `at`: when it happened; `heard_at`: when the gateway stored it; `known_at`: from when on it could have been known
    (that is `heard_at`, but the old text's own time for one that was imported). `text` is the raw text. `site`: whose it is, once it
    is stored.
    """

    kind: EventKind
    at: datetime
    heard_at: datetime
    known_at: datetime
    tank: str | None = None
    controller: str | None = None
    input: str | None = None
    text: str | None = None
    sender: str | None = None
    detail: Mapping[str, Any] = field(default_factory=dict)
    id: int | None = None
    site: str = ""
