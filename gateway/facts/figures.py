"""Calculated values that carry their inputs and their source, and honest intervals."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

CauseKind = Literal["supply-stopped", "blocked-between", "heavy-draw", "float-fault", "unclear"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One calculated value; `inputs` with units in their keys; `source` says where the method is from."""

    value: float
    unit: str
    inputs: Mapping[str, Any]
    source: str

    def as_json(self) -> dict[str, Any]:
        """The contract's `{"value", "unit", "from", "source"}`."""
        return {"value": self.value, "unit": self.unit, "from": dict(self.inputs), "source": self.source}


@dataclass(frozen=True, slots=True, kw_only=True)
class Triple:
    """An 80 % interval around its middle: a tenth lies below `low`, a tenth above `high`."""

    low: float
    likely: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """Why a tank is low, with the evidence as one sentence of names and times."""

    kind: CauseKind
    because: str
