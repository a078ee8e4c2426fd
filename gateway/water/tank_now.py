"""One tank and its floats as they stand: all that the estimator is told of the present."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from gateway.water.level_flows import Level


@dataclass(frozen=True, slots=True, kw_only=True)
class FloatSeen:
    """One float as it stands: `means`, its level, what it says and since when."""

    means: Literal["low", "high"]
    level_m: float | None
    state: Literal["unknown", "active", "idle"]
    since: datetime | None

    @property
    def below_since(self) -> datetime | None:
        """Since when the water stands below it, where it says so."""
        return self.since if self.state == ("active" if self.means == "low" else "idle") else None


@dataclass(frozen=True, slots=True, kw_only=True)
class TankNow:
    """One tank as it stands. `levels`: litres that its gauge read lately, oldest first. `said_nothing`: unknown, but its controller is heard
    and never said that it is low: no sign that it holds water. `heard_until`: its box fell silent then, and all this is of then.
    """

    state: Literal["ok", "low", "high", "unknown"]
    since: datetime | None
    floats: tuple[FloatSeen, ...] = ()
    said_nothing: bool = False
    levels: Sequence[Level] = ()
    heard_until: datetime | None = None

    @property
    def stands(self) -> bool:
        """Whether a text said that it holds water above its low float, and its box is heard."""
        return self.state in ("ok", "high") and self.heard_until is None
