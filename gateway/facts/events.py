"""What was learnt: past-tense events, each of one of the kinds in `kinds.py`."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from gateway.facts.event_kind import EventKind


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
