"""When a tank left its low float, the source and past fills → what it holds and when it is full.

Every quadrature point of what the source gives and what the pipe passes has its own time (`flow_belief.py`); what is used meanwhile goes by
the hours of the day.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, tzinfo

from gateway.facts import Triple
from gateway.settings.models import Settings
from gateway.settings.water_tables import Tank
from gateway.water.chain import stages_of, use_share
from gateway.water.demand import day_shares
from gateway.water.dry_time import LONGEST_DAYS, Part, Times, dry_times
from gateway.water.evidence import GUESSED_SD, Clock
from gateway.water.explanations import PIPE_TIMES, pipe_prior
from gateway.water.flow_belief import LEAST_NET, NODES, fill_days
from gateway.water.learnt import Learnt
from gateway.water.tank_now import TankNow
from gateway.water.use_belief import LEVEL_SD, noise_sd
from gateway.water.volumes import capacity_l

SOURCE_NOISE_SD = 0.06
"""What a source gives differs from fill to fill by a sixteenth or so, where its mean is known."""
STANDING_SHARES: tuple[tuple[float, float], ...] = ((1.0, 0.6), (0.5, 0.4))
"""Of what the tanks above can hold: what stands there when they are not low, and how likely (a pipe was blocked, or a leak was mended)."""
UNKNOWN_STANDS = 0.5
FILLING_TIMES = 3.0
WEIGHS_NOTHING = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """Litres now and when it is full."""

    litres: Triple
    full_at: Times


def fill_parts(
    settings: Settings,
    states: Mapping[str, TankNow],
    tank: Tank,
    learnt: Learnt,
    litres: float,
    since: datetime,
    zone: tzinfo,
) -> list[Part]:
    """Times until so many litres have come together, each with its weight; none where neither a use nor a source is known.

    `learnt`: of what goes through the tanks that it hangs together with; where others share the source nobody knows how.
    """
    doubt = GUESSED_SD if learnt.is_shared else 0.0
    if learnt.figure_l_day <= 0 and settings.source.pump is None:
        return []
    parts = []
    for source, weight in _sources(learnt):
        for above_l, above_weight in _above(settings, states, tank):
            pipes = learnt.rates.pipes or pipe_prior()
            flows = list(zip(PIPE_TIMES, pipes, strict=True)) if above_l > 0 else [(1.0, 1.0)]
            for times, pipe_weight in flows:
                share = weight * above_weight * pipe_weight
                if share >= WEIGHS_NOTHING:
                    part = _part(learnt, litres, source, times * source, above_l, share, since, zone)
                    parts.append(replace(part, spread=math.hypot(part.spread, doubt)))
    return parts


def longest_refill(
    settings: Settings, states: Mapping[str, TankNow], tank: Tank, learnt: Learnt, now: datetime, zone: tzinfo
) -> timedelta | None:
    """From empty to full, as long as nine fills of ten take at most; None where shape, or source, use and past are unknown."""
    if tank.shape is None:
        return None
    of_these = learnt.of_share(use_share(settings, tank))
    parts = fill_parts(settings, states, tank, of_these, capacity_l(tank.shape), now, zone)
    return dry_times(parts, now, now, Clock(zone))[2] - now if parts else None


def filling(
    parts: list[Part], low: float, full: float, capacity: float, over: datetime, now: datetime
) -> Filling | None:
    """Between its low float and full; None once it must long be full."""
    likely_days = sum(part.weight * part.days for part in parts) / sum(part.weight for part in parts)
    days = (now - over) / timedelta(days=1)
    if full <= low or days > FILLING_TIMES * likely_days:
        return None
    clock = Clock(over.tzinfo or now.tzinfo)  # type: ignore[arg-type]
    times = dry_times(parts, over, now, clock)
    lasts = [max((end - over) / timedelta(days=1), 1e-6) for end in dry_times(parts, over, over, clock)]
    low_l, likely_l, high_l = (min(capacity, low + (full - low) * min(days / last, 1.0)) for last in reversed(lasts))
    return Filling(litres=Triple(low=low_l, likely=likely_l, high=high_l), full_at=times)


def _sources(learnt: Learnt) -> list[tuple[float, float]]:
    """Litres a day that the source may give; less where that would never have filled anything."""
    points = []
    for part in learnt.source:
        for z, weight in NODES:
            source = learnt.source_figure_l_day * math.exp(part.mean + z * part.sd)
            enough = 1.0 if source > learnt.use_l_day else 0.2
            points.append((source, part.weight * weight * enough))
    total = sum(weight for _, weight in points)
    return [(source, weight / total) for source, weight in points]


def _above(settings: Settings, states: Mapping[str, TankNow], tank: Tank) -> list[tuple[float, float]]:
    """Litres that may stand above, with how likely."""
    stages = stages_of(settings, tank)
    upper = [upstream for stage in stages for upstream in stage][: _before(stages, tank)]
    next_up = [upstream for upstream in upper if upstream.id in tank.fed_by]
    holds = sum(capacity_l(upstream.shape) for upstream in upper if upstream.shape is not None)
    if not next_up or holds <= 0 or any(states[upstream.id].state == "low" for upstream in next_up):
        return [(0.0, 1.0)]
    stands = 1.0 if all(states[upstream.id].stands for upstream in next_up) else UNKNOWN_STANDS
    points = [(holds * share, stands * weight) for share, weight in STANDING_SHARES]
    return points if stands == 1.0 else [*points, (0.0, 1 - stands)]


def _before(stages: list[list[Tank]], tank: Tank) -> int:
    count = 0
    for stage in stages:
        if any(other.id == tank.id for other in stage):
            break
        count += len(stage)
    return count


def _part(
    learnt: Learnt,
    litres: float,
    source: float,
    pipe: float,
    above_l: float,
    weight: float,
    since: datetime,
    zone: tzinfo,
) -> Part:
    use = learnt.use_l_day
    days = min(fill_days(litres, source, pipe, use, above_l), LONGEST_DAYS)
    for _ in range(2):
        by_hours = day_shares(since, since + timedelta(days=days), zone) / days
        days = min(fill_days(litres, source, pipe, use * by_hours, above_l), LONGEST_DAYS)
    came = litres / days
    use_sd = math.hypot(noise_sd(days, learnt.use.scatter), min(learnt.use.sd, 0.4))
    spread = math.hypot(LEVEL_SD, SOURCE_NOISE_SD, min(use / max(came, LEAST_NET * source) * use_sd, 0.6))
    return Part(kind="unclear", weight=weight, days=days, spread=spread, by_clock=1.0, since=since)
