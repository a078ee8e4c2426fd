"""What a rule read in a text."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import time
from typing import Literal

from gateway.facts.number_fields import NumberName

Means = Literal["input", "alive", "power-lost", "power-back", "reading", "level", "ignore"]
FloatState = Literal["active", "idle"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One thing read. `input` is normalised (`"1"` for 1, 01; names in lower case); `numbers` in their fields' units.

    `clock`: the time of day by the box's own clock.
    """

    means: Means
    rule: int
    input: str | None = None
    state: FloatState | None = None
    word: str | None = None
    clock: time | None = None
    numbers: Mapping[NumberName, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleRead:
    """How a text was read: the number (from 1) of the rule that fitted it whole, or of the first found in it, or None.

    `timed_out` names rules whose pattern ran over its time limit and was given up.
    """

    rule: int | None
    readings: tuple[Reading, ...] = ()
    timed_out: tuple[int, ...] = ()


def input_key(value: int | str) -> str:
    """An input's number or name → the one form it is compared in: `1`, `"01"` → `"1"`; `"Pump "` → `"pump"`."""
    bare = str(value).strip()
    return str(int(bare)) if bare.isdecimal() else bare.casefold()
