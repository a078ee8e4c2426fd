"""Voltages as they are read → low once per spell, well again once.

A spell begins when a believable voltage is at or under the low limit, and ends when it has risen half a volt (per 12 V) above
it. What cannot be (0.3 V, 60 V from a 12 V box) is kept as read and not believed.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Literal

from gateway.settings.models import Power

LOW_V_PER_12V = {"lead-acid": 12.0, "agm": 12.1, "gel": 12.1, "lifepo4": 12.8}
"""Rest voltage at about a quarter of the charge (published tables B2, B3; lifepo4: common practice)."""

RISE_V_PER_12V = 0.4
BELIEVED = (0.6, 1.5)
"""Share of the nominal voltage that a battery can show: 7.2 to 18 V for 12 V (common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BatterySpell:
    """Whether it is low, since when, and the last believable voltage."""

    low_since: datetime | None = None
    last_volts: float | None = None

    def as_json(self) -> dict[str, Any]:
        """JSON values only."""
        return {"low_since": self.low_since.isoformat() if self.low_since else None, "last_volts": self.last_volts}

    @classmethod
    def from_json(cls, data: Mapping[str, Any] | None) -> "BatterySpell":
        """The reverse; None: nothing read yet."""
        if not data:
            return cls()
        since = data.get("low_since")
        return cls(low_since=datetime.fromisoformat(since) if since else None, last_volts=data.get("last_volts"))


def judge_volts(
    spell: BatterySpell, at: datetime, volts: float, celsius: float | None, power: Power | None
) -> tuple[BatterySpell, Literal["battery-low", "battery-back"] | None]:
    """The spell after one more reading, and what is told."""
    nominal = power.battery.volts if power else 12.0
    if not believable(volts, nominal):
        return spell, None
    limit = low_limit(power)
    after = replace(spell, last_volts=volts)
    if spell.low_since is None and volts <= limit:
        return replace(after, low_since=at), "battery-low"
    if spell.low_since is not None and volts >= limit + RISE_V_PER_12V * nominal / 12:
        return replace(after, low_since=None), "battery-back"
    return after, None


def believable(volts: float, nominal: float) -> bool:
    """Whether a battery of that nominal voltage can show it."""
    return BELIEVED[0] * nominal <= volts <= BELIEVED[1] * nominal


def low_limit(power: Power | None) -> float:
    """The voltage at which the battery is low."""
    if power is None:
        return LOW_V_PER_12V["lead-acid"]
    if power.battery.low_volts is not None:
        return power.battery.low_volts
    return LOW_V_PER_12V.get(power.battery.chemistry, 12.0) * power.battery.volts / 12
