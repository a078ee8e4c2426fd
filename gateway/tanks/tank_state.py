"""The floats of a tank → the tank's state and since when.

`low` while any low float is active, else `high` while a high float is active, else `ok` if a low float says idle (or, of a
tank with high floats only, all say idle), else `unknown`. A silent controller's floats are unknown: silence is no news.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

TankState = Literal["ok", "low", "high", "unknown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FloatNow:
    """One float as it stands: `means` what active says; `state` unknown if never heard or its controller is silent."""

    means: Literal["low", "high"]
    state: Literal["unknown", "active", "idle"]
    since: datetime | None = None


def tank_state(floats: Sequence[FloatNow]) -> tuple[TankState, datetime | None]:
    """State and since when it holds (None if unknown for ever)."""
    for means in ("low", "high"):
        active = [float_now for float_now in floats if float_now.means == means and float_now.state == "active"]
        if active:
            return means, _earliest(active)
    lows = [float_now for float_now in floats if float_now.means == "low"]
    deciding = lows or list(floats)
    idle = [float_now for float_now in deciding if float_now.state == "idle"]
    if idle and (lows or len(idle) == len(deciding)):
        return "ok", max((float_now.since for float_now in idle if float_now.since), default=None)
    return "unknown", None


def _earliest(floats: Sequence[FloatNow]) -> datetime | None:
    return min((float_now.since for float_now in floats if float_now.since), default=None)
