"""What the store gives back, as values."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal, NamedTuple

from gateway.facts import PartOf


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """A PDU that was taken for a text, or the part of one."""

    id: int
    heard_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredPart:
    """A part that waits for the others."""

    id: int
    number: str
    part: PartOf
    text: str
    stamp: datetime | None
    heard_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class SentSegment:
    """A segment that left: of which message it is the how-manieth; `outcome` and `stamp` of its last report ("", None: there was none)."""

    message: int
    segment: int
    at: datetime
    outcome: str
    stamp: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredText:
    """A row of `texts`, in or out, as the contract's JSON has it (plus the site and what the outbox needs). `at`: when it came, or left."""

    id: int
    way: Literal["in", "out"]
    number: str
    contact: str | None
    text: str
    at: datetime
    state: str
    segments: int
    tries: int
    event: int | None
    controller: str | None = None
    site: str = ""
    urgent: bool = False


class Past(NamedTuple):
    """As much of an old event as teaches about draw and filling."""

    kind: str
    tank: str | None
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class PauseRow:
    """Work on a tank: its messages are held. `by` is a contact's id or None; `ended` once its end was told."""

    id: int
    tank: str
    since: datetime
    until: datetime
    by: str | None
    ended: bool
