"""The tanks as they stand, what was learnt, and now → litres left, when dry, when full: honest intervals.

Below a low float the water is known when the float switches; it is gone once as much was drawn. Draw is the household's figure times a
factor with a log-normal belief (learnt), spread over the hours of the day; each explanation of the trouble has a belief of its own, and
the time is read off their mixture at 10, 50 and 90 %. Given that it is not dry yet, times already past do not count. Deterministic:
bisection on the mixture's distribution function.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from gateway.facts import Cause, Triple
from gateway.settings.models import Settings, Tank
from gateway.water.cause import Causes, TankNow, causes
from gateway.water.demand import day_shares, demand_l_day, when_used
from gateway.water.inflow import MINUTES_A_DAY, delivered_l_min
from gateway.water.learnt import Learnt, Normal, float_litres, full_litres, update
from gateway.water.volumes import capacity_l

LEVEL_SD = 0.08
"""A float switches within some centimetres of its level (published differentials 20-50 mm): log-sd of the litres below it."""
HEAVY = Normal(mean=math.log(3.5), sd=0.5, noise=0.3)
FILL_PRIOR_SD = 0.25
FILL_NOISE_SD = 0.12
FILLING_TIMES = 3.0
QUANTILES = (0.1, 0.5, 0.9)
LONGEST_DAYS = 400.0
SURELY_GONE = 0.9
Times = tuple[datetime, datetime, datetime]


@dataclass(frozen=True, slots=True, kw_only=True)
class TankOutlook:
    """What can be said of one tank; `reason` says why nothing can."""

    litres: Triple | None = None
    dry_at: Times | None = None
    full_at: Times | None = None
    cause: Cause | None = None
    advice: str | None = None
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """One explanation: its weight and its belief about log(draw / figure)."""

    weight: float
    mean: float
    spread: float


def outlook(
    settings: Settings,
    states: Mapping[str, TankNow],
    learnt: Learnt,
    now: datetime,
    zone: tzinfo,
    say: Callable[[datetime], str],
) -> dict[str, TankOutlook]:
    """Every tank's outlook."""
    found: dict[str, TankOutlook] = {}
    for tank in settings.tanks:
        why = causes(settings, states, tank, learnt, now, zone, say)
        found[tank.id] = _tank(settings, states, tank, learnt, why, now, zone)
    return found


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
            cause=cause, advice=_advice(cause, None, now, tank, settings), reason="no shape is configured"
        )
    if here.state == "unknown" or here.since is None:
        return TankOutlook(reason="its floats are unknown")
    if here.state == "low" and why is not None:
        return _low(settings, states, tank, learnt, why, now, zone)
    return _standing(settings, states, tank, learnt, now, zone)


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
        return TankOutlook(cause=why.cause, advice=_advice(why.cause, None, now, tank, settings), reason="no level_m")
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
    used = use * day_shares(since, now, zone)
    times = _dry_times(parts, litres, use, since, now, zone)
    left = _left(parts, litres, used)
    return TankOutlook(
        litres=left, dry_at=times, cause=why.cause, advice=_advice(why.cause, times, now, tank, settings)
    )


def _parts(learnt: Learnt, why: Causes) -> list[_Part]:
    draw = learnt.draw()
    heavy = why.weights.get("heavy-draw", 0.0)
    parts = [_Part(weight=1 - heavy, mean=draw.mean, spread=math.hypot(draw.spread, LEVEL_SD))]
    if heavy > 0:
        seen = update(draw.mean + HEAVY.mean, HEAVY.sd, learnt.heavies(), HEAVY.noise)
        mean, spread = seen.mean, seen.spread
        if why.rate is not None and why.rate > 1.5:
            mean, spread = math.log(why.rate), 0.4
        parts.append(_Part(weight=heavy, mean=mean, spread=spread))
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
    by_id = {one.id: one for one in settings.tanks}
    use = demand_l_day(settings.demand) * math.exp(learnt.draw().mean)
    coming = 0.0
    for upstream in tank.fed_by:
        other, seen = by_id.get(upstream), states.get(upstream)
        rest = float_litres(other, "low") if other is not None else None
        low = float_litres(tank, "low")
        if (
            seen is None
            or rest is None
            or low is None
            or seen.state != "low"
            or seen.since is None
            or tank.shape is None
        ):
            continue
        gone = use * day_shares(seen.since, since, zone)
        held = rest + 0.5 * (capacity_l(tank.shape) - low)
        coming += 0.5 * max(0.0, min(rest, held - gone))
    return coming * why.weights.get("supply-stopped", 0.0)


def _dry_times(parts: list[_Part], litres: float, use: float, since: datetime, now: datetime, zone: tzinfo) -> Times:
    """Quantiles of when `litres` are drawn, given that they are not by now; as they were, where they surely are."""
    gone = _drawn_by(parts, use * day_shares(since, now, zone), litres)
    surely = gone > SURELY_GONE
    times = []
    for quantile in QUANTILES:
        wanted = quantile if surely else gone + quantile * (1 - gone)
        at = when_used(since, _days_until(parts, litres, use, wanted), zone, longest_days=LONGEST_DAYS)
        times.append(at if surely else max(now, at))
    return times[0], times[1], times[2]


def _drawn_by(parts: list[_Part], figure_litres: float, litres: float) -> float:
    """How likely it is that `litres` were drawn while the figure says `figure_litres`."""
    if figure_litres <= 0:
        return 0.0
    ratio = math.log(litres / figure_litres)
    return sum(part.weight * _phi((part.mean - ratio) / part.spread) for part in parts)


def _days_until(parts: list[_Part], litres: float, use: float, wanted: float) -> float:
    low, high = 0.0, LONGEST_DAYS
    for _ in range(60):
        middle = (low + high) / 2
        if _drawn_by(parts, use * middle, litres) < wanted:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _left(parts: list[_Part], litres: float, used: float) -> Triple:
    """What is left of `litres` after the figure says `used` went: the mixture's quantiles."""
    if used <= 0:
        return Triple(low=litres * (1 - 1.28 * LEVEL_SD), likely=litres, high=litres * (1 + 1.28 * LEVEL_SD))
    factors = [_factor(parts, quantile) for quantile in (0.9, 0.5, 0.1)]
    low, likely, high = (max(0.0, litres - used * factor) for factor in factors)
    return Triple(low=low, likely=likely, high=high)


def _factor(parts: list[_Part], quantile: float) -> float:
    low, high = -6.0, 6.0
    for _ in range(60):
        middle = (low + high) / 2
        share = sum(part.weight * _phi((middle - part.mean) / part.spread) for part in parts)
        low, high = (middle, high) if share < quantile else (low, middle)
    return math.exp((low + high) / 2)


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
    filling = _fill(settings, tank, learnt)
    over = past.over_at
    high_since = past.high_at or past.high_over_at
    if filling is not None and over is not None and (high_since is None or high_since < over):
        found = _filling(filling, low, full, capacity, over, now)
        if found is not None:
            return found
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
    by_id = {one.id: one for one in settings.tanks}
    feeders = [(by_id[one], states[one]) for one in tank.fed_by if one in by_id]
    use = demand_l_day(settings.demand)
    if not feeders or use <= 0 or any(seen.state != "low" or seen.since is None for _, seen in feeders):
        return TankOutlook(litres=litres)
    since = min(seen.since for _, seen in feeders if seen.since is not None)
    above = sum(float_litres(other, "low") or 0.0 for other, _ in feeders)
    draw = learnt.draw()
    part = _Part(weight=1.0, mean=draw.mean, spread=math.hypot(draw.spread, 0.3))
    return TankOutlook(litres=litres, dry_at=_dry_times([part], above + litres.likely, use, since, now, zone))


def _fill(settings: Settings, tank: Tank, learnt: Learnt) -> Normal | None:
    """The belief about log(net litres a day) while it fills; None where neither pump nor past says anything."""
    seen = learnt.past(tank.id).fills
    pump = settings.source.pump
    if pump is None:
        if not seen:
            return None
        return update(sum(seen) / len(seen), FILL_PRIOR_SD, seen, FILL_NOISE_SD)
    inflow = delivered_l_min(pump) * MINUTES_A_DAY
    use = demand_l_day(settings.demand) * math.exp(learnt.draw().mean)
    net = inflow - use if inflow > 1.1 * use else 0.3 * inflow
    return update(math.log(max(net, 1e-3)), FILL_PRIOR_SD, seen, FILL_NOISE_SD)


def _filling(
    belief: Normal, low: float, full: float, capacity: float, over: datetime, now: datetime
) -> TankOutlook | None:
    """Between its low float and full; None once it must long be full."""
    rates = [math.exp(belief.mean + z * belief.spread) for z in (-1.2816, 0.0, 1.2816)]
    days = (now - over) / timedelta(days=1)
    if full <= low or days > FILLING_TIMES * (full - low) / rates[1]:
        return None
    litres = [min(capacity, low + rate * days) for rate in rates]
    ends = [over + timedelta(days=min((full - low) / rate, LONGEST_DAYS)) for rate in reversed(rates)]
    early, likely, late = (max(now, one) for one in ends)
    return TankOutlook(litres=Triple(low=litres[0], likely=litres[1], high=litres[2]), full_at=(early, likely, late))


def _advice(cause: Cause | None, times: Times | None, now: datetime, tank: Tank, settings: Settings) -> str | None:
    """The one thing to do: keep air out if it is soon dry, else what the cause asks for."""
    if cause is None:
        return None
    feeds_house = all(tank.id not in other.fed_by for other in settings.tanks)
    if feeds_house and times is not None and times[0] - now < timedelta(hours=6) and cause.kind != "float-fault":
        return "close-house-valve"
    return {
        "supply-stopped": "look-at-intake",
        "blocked-between": "look-at-pipe-between",
        "heavy-draw": "find-leak",
        "float-fault": "read-float",
        "unclear": "look-at-intake",
    }[cause.kind]


def _phi(z: float) -> float:
    return 0.5 * (1 + math.erf(z / math.sqrt(2)))
