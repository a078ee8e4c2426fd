"""The tanks as they stand, what was learnt, and now → litres left, when dry, when full: honest intervals.

Below a low float the water is known when the float switches; it is gone once as much was drawn. Draw is the household's figure times a
factor with a log-normal belief (learnt), spread over the hours of the day; each explanation of the trouble has a belief of its own, and
the time is read off their mixture at 10, 50 and 90 %. Given that it is not dry yet, times already past do not count. Deterministic.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, tzinfo

from gateway.facts import Cause, Triple
from gateway.settings.models import Settings, Tank
from gateway.water.advice import advice
from gateway.water.cause import Causes, TankNow, causes
from gateway.water.demand import day_shares, demand_l_day
from gateway.water.dry_time import LEVEL_SD, Part, Times, dry_times, figure_drawn, left
from gateway.water.fill_time import fill_belief, filling
from gateway.water.learnt import Learnt, float_litres, full_litres
from gateway.water.level_outlook import LEAST_HOURS, level_outlook
from gateway.water.volumes import capacity_l

MEASURED_SD, LOOSELY_MEASURED_SD = 0.22, 0.45
"""Of log(rate), once the leak itself was seen to draw between two floats; loosely: with what stood between two tanks guessed."""
MOST_TIMES = 12.0
"""No leak is believed to take more than so many times the use."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TankOutlook:
    """What can be said of one tank; `reason` says why nothing can."""

    litres: Triple | None = None
    dry_at: Times | None = None
    full_at: Times | None = None
    cause: Cause | None = None
    advice: str | None = None
    reason: str = ""


def outlook(
    settings: Settings,
    states: Mapping[str, TankNow],
    learnt: Learnt,
    now: datetime,
    zone: tzinfo,
    say: Callable[[datetime], str],
) -> dict[str, TankOutlook]:
    """Every tank's outlook."""
    outlooks: dict[str, TankOutlook] = {}
    for tank in settings.tanks:
        why = causes(settings, states, tank, learnt, now, zone, say)
        outlooks[tank.id] = _tank(settings, states, tank, learnt, why, now, zone)
    return outlooks


def _tank(
    settings: Settings,
    states: Mapping[str, TankNow],
    tank: Tank,
    learnt: Learnt,
    why: Causes | None,
    now: datetime,
    zone: tzinfo,
) -> TankOutlook:
    here = states[tank.id]
    cause = why.cause if why else None
    if tank.shape is None:
        return TankOutlook(
            cause=cause, advice=advice(cause, None, now, tank, settings), reason="no shape is configured"
        )
    if here.levels and here.state != "unknown":
        by_level = _by_level(settings, tank, here, learnt, why, now, zone)
        if by_level is not None:
            return by_level
    if here.state == "unknown" or here.since is None:
        return TankOutlook(reason="its floats are unknown")
    if here.state == "low" and why is not None:
        return _low(settings, states, tank, learnt, why, now, zone)
    return _standing(settings, states, tank, learnt, now, zone)


def _by_level(
    settings: Settings,
    tank: Tank,
    here: TankNow,
    learnt: Learnt,
    why: Causes | None,
    now: datetime,
    zone: tzinfo,
) -> TankOutlook | None:
    """By its gauge: what is in it now, and how that goes on; of a low tank read for some hours only, by what is thought of the cause."""
    assert tank.shape is not None
    use, capacity = demand_l_day(settings.demand) * math.exp(learnt.usual.mean), capacity_l(tank.shape)
    ahead = level_outlook(here.levels, capacity, full_litres(tank) or capacity, use, now, zone)
    if ahead is None:
        return None
    cause, dry, (read_at, litres) = why.cause if why else None, ahead.dry_at, here.levels[-1]
    if dry is None and ahead.flows.hours < LEAST_HOURS and why is not None and use > 0 and litres > 0:
        dry = dry_times(_parts(learnt, why), litres, demand_l_day(settings.demand), read_at, now, zone)
    return TankOutlook(
        litres=ahead.litres,
        dry_at=dry,
        full_at=ahead.full_at if here.state != "high" else None,
        cause=cause,
        advice=advice(cause, dry, now, tank, settings),
    )


def _low(
    settings: Settings,
    states: Mapping[str, TankNow],
    tank: Tank,
    learnt: Learnt,
    why: Causes,
    now: datetime,
    zone: tzinfo,
) -> TankOutlook:
    since = states[tank.id].since
    litres = float_litres(tank, "low")
    use = demand_l_day(settings.demand)
    assert since is not None
    if litres is None:
        return TankOutlook(cause=why.cause, advice=advice(why.cause, None, now, tank, settings), reason="no level_m")
    dry = learnt.past(tank.id).dry_at
    if dry is not None and dry >= since:
        return TankOutlook(
            litres=Triple(low=0.0, likely=0.0, high=round(0.1 * litres, 1)),
            cause=why.cause,
            advice="fill-and-bleed",
            reason="it ran dry already",
        )
    if use <= 0:
        return TankOutlook(
            litres=Triple(low=0.0, likely=0.7 * litres, high=litres), cause=why.cause, reason="no use is configured"
        )
    parts = _parts(learnt, why)
    litres += _still_coming(settings, states, tank, learnt, why, since, zone)
    times = dry_times(parts, litres, use, since, now, zone)
    return TankOutlook(
        litres=left(parts, litres, figure_drawn(use, since, now, zone)),
        dry_at=times,
        cause=why.cause,
        advice=advice(why.cause, times, now, tank, settings),
    )


def _parts(learnt: Learnt, why: Causes) -> list[Part]:
    usual, leak = learnt.usual, learnt.heavy
    heavy = why.weights.get("heavy-draw", 0.0)
    parts = [Part(weight=1 - heavy, mean=usual.mean, spread=math.hypot(usual.spread, LEVEL_SD))]
    if heavy > 0:
        mean, spread = leak.mean, leak.spread
        if why.rate is not None and why.rate.by_clock > 1.5:
            mean = math.log(min(why.rate.by_clock, MOST_TIMES))
            spread = LOOSELY_MEASURED_SD if why.loosely else MEASURED_SD
        parts.append(Part(weight=heavy, mean=mean, spread=spread, around_the_clock=True))
    return parts


def _still_coming(
    settings: Settings,
    states: Mapping[str, TankNow],
    tank: Tank,
    learnt: Learnt,
    why: Causes,
    since: datetime,
    zone: tzinfo,
) -> float:
    """What tanks upstream still held when this one went low, if it comes down: counted by half, since it may not."""
    by_id = {tank_of_all.id: tank_of_all for tank_of_all in settings.tanks}
    use = demand_l_day(settings.demand) * math.exp(learnt.usual.mean)
    coming = 0.0
    for upstream in tank.fed_by:
        other, upper_now = by_id.get(upstream), states.get(upstream)
        rest_l = float_litres(other, "low") if other is not None else None
        low = float_litres(tank, "low")
        if (
            upper_now is None
            or rest_l is None
            or low is None
            or upper_now.state != "low"
            or upper_now.since is None
            or tank.shape is None
        ):
            continue
        gone = use * day_shares(upper_now.since, since, zone)
        held = rest_l + 0.5 * (capacity_l(tank.shape) - low)
        coming += 0.5 * max(0.0, min(rest_l, held - gone))
    return coming * why.weights.get("supply-stopped", 0.0)


def _standing(
    settings: Settings,
    states: Mapping[str, TankNow],
    tank: Tank,
    learnt: Learnt,
    now: datetime,
    zone: tzinfo,
) -> TankOutlook:
    """A tank that is not low: filling since its low was over, or standing somewhere above its float."""
    assert tank.shape is not None
    here = states[tank.id]
    low = float_litres(tank, "low") or 0.0
    capacity = capacity_l(tank.shape)
    full = full_litres(tank) or capacity
    past = learnt.past(tank.id)
    if here.state == "high":
        return TankOutlook(litres=Triple(low=full, likely=(full + capacity) / 2, high=capacity))
    belief = fill_belief(settings, states, tank, learnt)
    over = past.over_at
    high_since = past.high_at or past.high_over_at
    if belief is not None and over is not None and (high_since is None or high_since < over):
        filled = filling(belief, low, full, capacity, over, now)
        if filled is not None:
            return TankOutlook(litres=filled.litres, full_at=filled.full_at)
    spare = capacity - low
    litres = Triple(low=low + 0.25 * spare, likely=low + 0.8 * spare, high=capacity)
    return _fed_by_a_low_one(settings, states, tank, learnt, litres, now, zone)


def _fed_by_a_low_one(
    settings: Settings,
    states: Mapping[str, TankNow],
    tank: Tank,
    learnt: Learnt,
    litres: Triple,
    now: datetime,
    zone: tzinfo,
) -> TankOutlook:
    """Not low itself; but if all it is fed by is low, what it and they hold is what there is."""
    by_id = {configured.id: configured for configured in settings.tanks}
    feeders = [(by_id[upstream], states[upstream]) for upstream in tank.fed_by if upstream in by_id]
    use = demand_l_day(settings.demand)
    if not feeders or use <= 0 or any(feeder.state != "low" or feeder.since is None for _, feeder in feeders):
        return TankOutlook(litres=litres)
    since = min(feeder.since for _, feeder in feeders if feeder.since is not None)
    above = sum(float_litres(other, "low") or 0.0 for other, _ in feeders)
    usual = learnt.usual
    part = Part(weight=1.0, mean=usual.mean, spread=math.hypot(usual.spread, 0.3))
    return TankOutlook(litres=litres, dry_at=dry_times([part], above + litres.likely, use, since, now, zone))
