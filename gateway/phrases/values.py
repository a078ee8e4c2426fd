"""What may be filled into a phrase besides words: each is put into words for a screen or a voice by `phrasebook.py`."""

from dataclasses import dataclass
from datetime import date, datetime, tzinfo


@dataclass(frozen=True, slots=True)
class When:
    """A time that is said as seen from `now` in `zone`."""

    at: datetime
    now: datetime
    zone: tzinfo


@dataclass(frozen=True, slots=True)
class Day:
    """A day with its year: `30 June 2027`."""

    on: date


@dataclass(frozen=True, slots=True)
class Volts:
    """A voltage."""

    value: float


@dataclass(frozen=True, slots=True)
class Money:
    """An amount in a currency's code."""

    value: float
    currency: str


@dataclass(frozen=True, slots=True)
class Measured:
    """A number with its unit, `2.1 l/min`."""

    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class Label:
    """A word of `[label]`, by its key."""

    key: str
