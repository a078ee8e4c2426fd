"""Past events, oldest first → what they teach about draw and filling. A fold over facts; nothing is stored.

Draw: the household's own figure can be off by a third, so log(true use / figure) has the prior N(0, 0.35²); every episode that shows a
rate is one observation with noise 0.22 (a day differs from a day by a fifth or more); normal with known noise is conjugate, so the
posterior is a precision-weighted mean. The spread of the observations themselves corrects the noise (scaled inverse chi-squared, prior
weight 2). An episode may have been a leak: each counts for either by how well it fits (expectation and maximisation in turn). Filling:
the same on log(litres a day), once a tank has been seen to fill. Source: Gelman et al., BDA3 §2.5-2.6 and 22, from memory.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta, tzinfo
from typing import Protocol, TypeVar

from gateway.facts import EventKind
from gateway.settings.models import Settings, Tank
from gateway.water.demand import demand_l_day
from gateway.water.draw_rate import Rate, rate_of
from gateway.water.volumes import below_l, capacity_l

T = TypeVar("T")
PRIOR_SD = 0.35
NOISE_SD = 0.22
NOISE_PRIOR_WEIGHT = 2.0
ORDINARY_SHARE = 0.6
"""Before it is looked at, an episode is rather ordinary use than a leak."""
SORTING_ROUNDS = 4
CAUSE_PRIOR_WEIGHT = 4.0
LEARNT_KINDS: tuple[EventKind, ...] = (
    "low",
    "low-over",
    "high",
    "high-over",
    "low-over-said",
    "low-over-reckoned",
    "high-over-said",
    "high-over-reckoned",
    "ran-dry",
    "float-fault",
    "silent",
    "heard-again",
)
KEPT = 40


class Happened(Protocol):
    """As much of an event as is learnt from."""

    @property
    def kind(self) -> str: ...
    @property
    def tank(self) -> str | None: ...
    @property
    def at(self) -> datetime: ...


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


HEAVY = Normal(mean=math.log(4.0), sd=0.6, noise=0.35)
"""A leak or a hose takes several times the usual use: from twice to eight times (common practice)."""


@dataclass(slots=True, kw_only=True)
class TankPast:
    """One tank's past: newest times, and the rates it showed (fills: log of litres a day)."""

    low_at: datetime | None = None
    over_at: datetime | None = None
    high_at: datetime | None = None
    high_over_at: datetime | None = None
    dry_at: datetime | None = None
    faults: list[datetime] = field(default_factory=list)
    fills: list[float] = field(default_factory=list)
    lows: list[tuple[datetime, datetime]] = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class Learnt:
    """Everything the fold found."""

    tanks: Mapping[str, TankPast] = field(default_factory=dict)
    usual: Normal = field(default_factory=lambda: update(0.0, PRIOR_SD, (), NOISE_SD))
    """Log(true use / the household's figure)."""
    heavy: Normal = HEAVY
    """The same for a leak or a hose, by the clock."""
    heavy_cases: float = 0.0
    cases: int = 0

    def heavy_share(self, before: float) -> float:
        """How often trouble turned out to be heavy draw; `before` is what is thought with no past (worth four cases)."""
        return (before * CAUSE_PRIOR_WEIGHT + self.heavy_cases) / (CAUSE_PRIOR_WEIGHT + self.cases)

    def past(self, tank: str) -> TankPast:
        """One tank's past; empty for one never heard of."""
        return self.tanks.get(tank, TankPast())


def update(
    mean: float, sd: float, values: Sequence[float], noise: float, weights: Sequence[float] | None = None
) -> Normal:
    """The conjugate normal update, with the noise corrected by what was seen; `weights` (0..1): how much each case counts."""
    counts = weights if weights is not None else [1.0] * len(values)
    total = sum(counts)
    centre = sum(w * value for w, value in zip(counts, values, strict=True)) / total if total > 0 else mean
    scatter = sum(w * (value - centre) ** 2 for w, value in zip(counts, values, strict=True))
    degrees = NOISE_PRIOR_WEIGHT + max(total - 1, 0)
    fitted = math.sqrt((NOISE_PRIOR_WEIGHT * noise**2 + scatter) / degrees)
    precision = 1 / sd**2 + total / fitted**2
    posterior = (mean / sd**2 + total * centre / fitted**2) / precision
    return Normal(mean=posterior, sd=math.sqrt(1 / precision), noise=fitted)


def _sorted_out(draws: Sequence[Rate], tanks: Mapping[str, TankPast]) -> Learnt:
    """What was ordinary use and what a leak, each by how well it fits, and what either teaches."""
    ordinary = [ORDINARY_SHARE] * len(draws)
    usual, heavy = update(0.0, PRIOR_SD, (), NOISE_SD), HEAVY
    by_hours, by_clock = [draw.log_by_hours for draw in draws], [draw.log_by_clock for draw in draws]
    for _ in range(SORTING_ROUNDS if draws else 0):
        ordinary = [_fits_ordinary(draw, usual, heavy) for draw in draws]
        usual = update(0.0, PRIOR_SD, by_hours, NOISE_SD, ordinary)
        leaks = [1 - share for share in ordinary]
        heavy = update(usual.mean + HEAVY.mean, HEAVY.sd, by_clock, HEAVY.noise, leaks)
    heavy_cases = sum(1 - share for share in ordinary)
    return Learnt(tanks=tanks, usual=usual, heavy=heavy, heavy_cases=heavy_cases, cases=len(draws))


def _fits_ordinary(draw: Rate, usual: Normal, heavy: Normal) -> float:
    fits = ORDINARY_SHARE * density(draw.log_by_hours, usual.mean, usual.spread)
    leaks = (1 - ORDINARY_SHARE) * density(draw.log_by_clock, heavy.mean, heavy.spread)
    return fits / (fits + leaks) if fits + leaks > 0 else float(draw.log_by_hours < HEAVY.mean)


def density(value: float, mean: float, sd: float) -> float:
    """The normal density, without its constant."""
    return math.exp(-0.5 * ((value - mean) / sd) ** 2) / sd


def learn(events: Iterable[Happened], settings: Settings, zone: tzinfo) -> Learnt:
    """The fold over events, oldest first."""
    tanks = {tank.id: tank for tank in settings.tanks}
    past: dict[str, TankPast] = {tank: TankPast() for tank in tanks}
    draws: list[Rate] = []
    for event in events:
        if event.tank in tanks and event.tank is not None:
            _one(event, tanks[event.tank], past, draws, settings, zone)
    return _sorted_out(draws[-KEPT:], past)


def _one(
    event: Happened, tank: Tank, all_past: Mapping[str, TankPast], draws: list[Rate], settings: Settings, zone: tzinfo
) -> None:
    past = all_past[tank.id]
    match event.kind:
        case "low":
            if not any(all_past[upstream].low_at for upstream in tank.fed_by if upstream in all_past):
                _note(draws, _dropped(tank, past, event.at, settings, zone))
            past.low_at, past.over_at, past.dry_at = event.at, None, None
        case "low-over":
            if past.low_at is not None:
                past.lows = [*past.lows, (past.low_at, event.at)][-KEPT:]
            past.over_at, past.low_at = event.at, None
        case "high":
            _note(past.fills, _filled(tank, past, event.at))
            past.high_at, past.high_over_at, past.over_at = event.at, None, None
        case "high-over":
            past.high_over_at, past.high_at = event.at, None
        case "low-over-said" | "low-over-reckoned":
            # when it left its low float nobody knows: no fill and no draw can be measured from here
            past.low_at, past.over_at = None, None
        case "high-over-said" | "high-over-reckoned":
            past.high_at, past.high_over_at = None, None
        case "ran-dry":
            if past.low_at is not None and past.dry_at is None:
                _note(draws, _emptied(tank, past.low_at, event.at, settings, zone))
            past.dry_at = event.at
        case "float-fault":
            past.faults = [*past.faults, event.at][-KEPT:]
        case _:
            pass


def _dropped(tank: Tank, past: TankPast, at: datetime, settings: Settings, zone: tzinfo) -> Rate | None:
    """From the high float down to the low one, while nothing upstream was low: what still came down then is not known."""
    if past.high_over_at is None:
        return None
    high, low = float_litres(tank, "high"), float_litres(tank, "low")
    if high is None or low is None or high <= low:
        return None
    return rate_of(high - low, demand_l_day(settings.demand), past.high_over_at, at, zone)


def _emptied(tank: Tank, since: datetime, at: datetime, settings: Settings, zone: tzinfo) -> Rate | None:
    low = float_litres(tank, "low")
    return None if low is None else rate_of(low, demand_l_day(settings.demand), since, at, zone)


def _filled(tank: Tank, past: TankPast, at: datetime) -> float | None:
    """From the low float up to the high one: log of litres a day."""
    if past.over_at is None:
        return None
    high, low = float_litres(tank, "high"), float_litres(tank, "low")
    if high is None or low is None or high <= low:
        return None
    days = (at - past.over_at) / timedelta(days=1)
    return math.log((high - low) / days) if days > 0 else None


def _note(values: list[T], value: T | None) -> None:
    if value is not None:
        values.append(value)


def float_litres(tank: Tank, means: str) -> float | None:
    """Water below the tank's lowest low (or highest high) float, or a gauge's limit; None where shape or level is not known."""
    levels = [
        configured.level_m for configured in tank.floats if configured.means == means and configured.level_m is not None
    ]
    levels += [limit for gauge in tank.gauges if (limit := gauge.low_m if means == "low" else gauge.high_m)]
    if tank.shape is None or not levels:
        return None
    return below_l(tank.shape, min(levels) if means == "low" else max(levels))


def full_litres(tank: Tank) -> float | None:
    """What counts as full: its high float, else the brim."""
    if tank.shape is None:
        return None
    return float_litres(tank, "high") or capacity_l(tank.shape)
