"""Past events, oldest first → what they teach about draw and filling. A fold over facts; nothing is stored.

Draw: the household's own figure can be off by a third, so log(true use / figure) has the prior N(0, 0.35²); every episode
that shows a rate is one observation with noise 0.3 (a day differs from a day by a fifth or more); normal with known noise is conjugate, so the
posterior is a precision-weighted mean. The spread of the observations themselves corrects the noise (scaled inverse chi-squared, prior
weight 4). Filling: the same on log(litres a day), once a tank has been seen to fill. Source: Gelman et al., BDA3 §2.5-2.6, from memory.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta, tzinfo

from gateway.facts import Event
from gateway.settings.models import Settings, Tank
from gateway.water.demand import day_shares, demand_l_day
from gateway.water.volumes import below_l, capacity_l

PRIOR_SD = 0.35
NOISE_SD = 0.25
NOISE_PRIOR_WEIGHT = 4.0
ORDINARY = 1.1
"""A log-rate farther than this from the figure (three times as much) is no ordinary use: it teaches about trouble, not draw."""
CAUSE_PRIOR_WEIGHT = 4.0
LEARNT_KINDS = ("low", "low-over", "high", "high-over", "ran-dry", "float-fault", "silent", "heard-again")
KEPT = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Normal:
    """A belief about a logarithm: mean, its standard deviation, and the noise of one more case."""

    mean: float
    sd: float
    noise: float

    @property
    def spread(self) -> float:
        """Standard deviation of the next case."""
        return math.hypot(self.sd, self.noise)


@dataclass(slots=True, kw_only=True)
class TankPast:
    """One tank's past: newest times, and the rates it showed (log of multiples of the figure; log of litres a day)."""

    low_at: datetime | None = None
    over_at: datetime | None = None
    high_at: datetime | None = None
    high_over_at: datetime | None = None
    dry_at: datetime | None = None
    faults: list[datetime] = field(default_factory=list)
    fills: list[float] = field(default_factory=list)
    lows: list[tuple[datetime, datetime]] = field(default_factory=list)
    dry_reports: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Learnt:
    """Everything the fold found."""

    draws: tuple[float, ...] = ()
    tanks: Mapping[str, TankPast] = field(default_factory=dict)

    def draw(self) -> Normal:
        """The belief about log(true use / the household's figure)."""
        ordinary = [one for one in self.draws if abs(one) <= ORDINARY]
        return update(0.0, PRIOR_SD, ordinary, NOISE_SD)

    def heavies(self) -> tuple[float, ...]:
        """Log-rates that were far over the usual use: a leak or a hose, seen afterwards."""
        return tuple(one for one in self.draws if one > ORDINARY)

    def heavy_share(self, before: float) -> float:
        """How often trouble turned out to be heavy draw; `before` is what is thought with no past (worth four cases)."""
        return (before * CAUSE_PRIOR_WEIGHT + len(self.heavies())) / (CAUSE_PRIOR_WEIGHT + len(self.draws))

    def past(self, tank: str) -> TankPast:
        """One tank's past; empty for one never heard of."""
        return self.tanks.get(tank, TankPast())


def update(mean: float, sd: float, seen: Iterable[float], noise: float) -> Normal:
    """The conjugate normal update, with the noise corrected by what was seen."""
    cases = list(seen)
    centre = sum(cases) / len(cases) if cases else mean
    scatter = sum((one - centre) ** 2 for one in cases)
    degrees = NOISE_PRIOR_WEIGHT + max(len(cases) - 1, 0)
    fitted = math.sqrt((NOISE_PRIOR_WEIGHT * noise**2 + scatter) / degrees)
    precision = 1 / sd**2 + len(cases) / fitted**2
    posterior = (mean / sd**2 + sum(cases) / fitted**2) / precision
    return Normal(mean=posterior, sd=math.sqrt(1 / precision), noise=fitted)


def learn(events: Iterable[Event], settings: Settings, zone: tzinfo) -> Learnt:
    """The fold over events, oldest first."""
    tanks = {tank.id: tank for tank in settings.tanks}
    past: dict[str, TankPast] = {tank: TankPast() for tank in tanks}
    draws: list[float] = []
    for event in events:
        if event.tank in tanks and event.tank is not None:
            _one(event, tanks[event.tank], past[event.tank], draws, settings, zone)
    return Learnt(draws=tuple(draws[-KEPT:]), tanks=past)


def _one(event: Event, tank: Tank, past: TankPast, draws: list[float], settings: Settings, zone: tzinfo) -> None:
    match event.kind:
        case "low":
            _note(draws, _dropped(tank, past, event.at, settings, zone))
            past.low_at, past.over_at, past.dry_at = event.at, None, None
        case "low-over":
            if past.low_at is not None:
                past.lows = [*past.lows, (past.low_at, event.at)][-KEPT:]
            past.over_at, past.low_at = event.at, None
        case "high":
            _note(past.fills, _filled(tank, past, event.at))
            past.high_at, past.high_over_at = event.at, None
        case "high-over":
            past.high_over_at, past.high_at = event.at, None
        case "ran-dry":
            if past.low_at is not None and past.dry_at is None:
                _note(draws, _emptied(tank, past.low_at, event.at, settings, zone))
            past.dry_at = event.at
            past.dry_reports += 1
        case "float-fault":
            past.faults = [*past.faults, event.at][-KEPT:]
        case _:
            pass


def _dropped(tank: Tank, past: TankPast, at: datetime, settings: Settings, zone: tzinfo) -> float | None:
    """From the high float down to the low one: log of the rate over the figure."""
    high, low = float_litres(tank, "high"), float_litres(tank, "low")
    if past.high_over_at is None or high is None or low is None or high <= low:
        return None
    return _log_rate(high - low, past.high_over_at, at, settings, zone)


def _emptied(tank: Tank, since: datetime, at: datetime, settings: Settings, zone: tzinfo) -> float | None:
    low = float_litres(tank, "low")
    return None if low is None else _log_rate(low, since, at, settings, zone)


def _filled(tank: Tank, past: TankPast, at: datetime) -> float | None:
    """From the low float up to the high one: log of litres a day."""
    high, low = float_litres(tank, "high"), float_litres(tank, "low")
    if past.over_at is None or high is None or low is None or high <= low:
        return None
    days = (at - past.over_at) / timedelta(days=1)
    return math.log((high - low) / days) if days > 0 else None


def _log_rate(litres: float, since: datetime, at: datetime, settings: Settings, zone: tzinfo) -> float | None:
    expected = demand_l_day(settings.demand) * day_shares(since, at, zone)
    return math.log(litres / expected) if expected > 0 and litres > 0 else None


def _note(seen: list[float], value: float | None) -> None:
    if value is not None:
        seen.append(value)


def float_litres(tank: Tank, means: str) -> float | None:
    """Water below the tank's lowest low (or highest high) float; None where shape or level is not known."""
    levels = [one.level_m for one in tank.floats if one.means == means and one.level_m is not None]
    if tank.shape is None or not levels:
        return None
    return below_l(tank.shape, min(levels) if means == "low" else max(levels))


def full_litres(tank: Tank) -> float | None:
    """What counts as full: its high float, else the brim."""
    if tank.shape is None:
        return None
    return float_litres(tank, "high") or capacity_l(tank.shape)
