"""What past events have taught: one tank's past and rates, the household's use, its source and how often it has which trouble.

`learning.py` makes it of the events; nothing is stored.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Literal

from gateway.settings.water_tables import Tank
from gateway.water.explanations import Rates
from gateway.water.flow_belief import LEAST_NET, mean_of
from gateway.water.recession import Shown
from gateway.water.tank_now import FloatSeen, TankNow
from gateway.water.use_belief import Component, UseBelief


@dataclass(slots=True, kw_only=True)
class TankPast:
    """One tank's past: newest times, and the rates it showed (fills: log of litres a day, those that the source alone filled)."""

    low_at: datetime | None = None
    over_at: datetime | None = None
    high_at: datetime | None = None
    high_over_at: datetime | None = None
    dry_at: datetime | None = None
    well_at: datetime | None = None
    above_l: float = 0.0
    faults: list[datetime] = field(default_factory=list)
    fills: list[float] = field(default_factory=list)
    lows: list[tuple[datetime, datetime]] = field(default_factory=list)

    def as_it_was(self, tank: Tank, until: datetime) -> TankNow:
        """Its floats as they stood then: one that came to be low later was not, one that was high until later was."""
        floats = []
        low_at = self.low_at if self.low_at is not None and self.low_at <= until else None
        high_over_at = self.high_over_at if self.high_over_at is not None and self.high_over_at <= until else None
        was_high = self.high_over_at is not None and high_over_at is None
        for means, active, idle in (("low", low_at, self.over_at), ("high", self.high_at or was_high, high_over_at)):
            levels = [placed.level_m for placed in tank.floats if placed.means == means]
            if levels:
                kind: Literal["low", "high"] = "low" if means == "low" else "high"
                state: Literal["unknown", "active", "idle"] = "active" if active else "idle" if idle else "unknown"
                if kind == "low" and state == "unknown" and (self.lows or self.low_at):
                    state = "idle"
                since = active if isinstance(active, datetime) else idle
                floats.append(FloatSeen(means=kind, level_m=levels[0], state=state, since=since))
        return TankNow(state="low" if low_at else "ok", since=low_at, floats=tuple(floats))


@dataclass(frozen=True, slots=True, kw_only=True)
class Learnt:
    """Everything the fold found. `figure_l_day`, `source_figure_l_day`: the household's own figures (or what stands for them)."""

    figure_l_day: float
    source_figure_l_day: float
    tanks: Mapping[str, TankPast] = field(default_factory=dict)
    use: UseBelief = field(default_factory=UseBelief)
    source: tuple[Component, ...] = ()
    rates: Rates = field(default_factory=Rates)
    shown: tuple[Shown, ...] = ()
    """What the source gave, fill by fill and slow fall by slow fall, oldest first."""
    is_shared: bool = False
    """Whether it is of some tanks alone, of which nobody knows well how much of all goes through them."""

    @property
    def use_l_day(self) -> float:
        """Litres a day, as believed."""
        return self.figure_l_day * math.exp(self.use.mean)

    @property
    def source_l_day(self) -> float:
        """Litres a day that the source gives, as believed."""
        return self.source_figure_l_day * math.exp(mean_of(self.source))

    @property
    def rises_l_day(self) -> float:
        """What is left over to fill tanks, litres a day."""
        return max(self.source_l_day - self.use_l_day, LEAST_NET * self.source_l_day)

    @property
    def overs(self) -> dict[str, datetime]:
        """When a tank was last well again: not low any more, or full."""
        return {tank: past.well_at for tank, past in self.tanks.items() if past.well_at is not None}

    @property
    def dry(self) -> dict[str, datetime]:
        """When a tank's taps ran dry since it is low."""
        return {tank: past.dry_at for tank, past in self.tanks.items() if past.dry_at is not None}

    def of_share(self, share: float) -> "Learnt":
        """What it is for tanks through which that share of all goes."""
        if share == 1:
            return self
        figure, source = self.figure_l_day * share, self.source_figure_l_day * share
        return replace(self, figure_l_day=figure, source_figure_l_day=source, is_shared=True)

    def past(self, tank: str) -> TankPast:
        """One tank's past; empty for one never heard of."""
        return self.tanks.get(tank, TankPast())
