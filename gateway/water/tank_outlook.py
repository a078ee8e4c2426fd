"""The tanks as they stand, what was learnt, and now → litres left, when dry, when full: honest intervals.

Below a low float the water is known when the float switches; it is gone once as much was drawn. The model: MODEL.md beside this file.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, tzinfo

from gateway.facts import Cause, Triple
from gateway.settings.models import Settings
from gateway.settings.water_tables import Tank
from gateway.water.advice import advice
from gateway.water.balance import Balance, balance, dry_parts, worth_asking
from gateway.water.cause import Causes, causes
from gateway.water.chain import stages_of, use_share
from gateway.water.demand import demand_l_day
from gateway.water.dry_time import Times, dry_times, left
from gateway.water.fill_time import fill_parts, filling
from gateway.water.float_levels import float_litres, full_litres
from gateway.water.learnt import Learnt
from gateway.water.level_outlook import LEAST_HOURS, level_outlook
from gateway.water.tank_now import TankNow
from gateway.water.volumes import capacity_l


@dataclass(frozen=True, slots=True, kw_only=True)
class TankOutlook:
    """What can be said of one tank; `reason` says why nothing can; `asks`: whether it would help to know if water runs into it;
    `heard_until`: its box fell silent then, and all is reckoned on from what it told last."""

    litres: Triple | None = None
    dry_at: Times | None = None
    full_at: Times | None = None
    cause: Cause | None = None
    advice: str | None = None
    reason: str = ""
    asks: bool = False
    heard_until: datetime | None = None


def outlook(
    settings: Settings,
    states: Mapping[str, TankNow],
    learnt: Learnt,
    now: datetime,
    zone: tzinfo,
    say: Callable[[datetime], str],
    inflow_said: tuple[str, bool] | None = None,
) -> dict[str, TankOutlook]:
    """Every tank's outlook. What `settings` say of those who draw water holds from now on (guests, an empty house); what was seen until
    now is held against the figure that `learnt` knows."""
    outlooks: dict[str, TankOutlook] = {}
    balances: dict[tuple[str, ...], Balance] = {}
    figure_from_now_on = demand_l_day(settings.demand)
    for tank in settings.tanks:
        share = use_share(settings, tank)
        from_now_on = replace(learnt, figure_l_day=figure_from_now_on).of_share(share)
        members = tuple(member.id for stage in stages_of(settings, tank) for member in stage)
        if members not in balances:
            balances[members] = balance(settings, states, tank, learnt.of_share(share), now, zone, inflow_said)
        seen = balances[members]
        why = causes(settings, states, tank, seen, from_now_on, now, zone, say)
        found = _tank(settings, states, tank, seen, from_now_on, why, now, zone)
        first = inflow_said is None and found.dry_at is not None and first_low(states) == tank.id
        outlooks[tank.id] = replace(
            found,
            asks=first and worth_asking(seen, from_now_on, tank.id, tank.id),
            heard_until=states[tank.id].heard_until,
        )
    return outlooks


def first_low(states: Mapping[str, TankNow]) -> str | None:
    """The tank that has been low for longest: of it people are asked, once; of those that follow nobody is asked again."""
    lows = [(now.since, tank) for tank, now in states.items() if now.state == "low" and now.since is not None]
    return min(lows)[1] if lows else None


def _tank(
    settings: Settings,
    states: Mapping[str, TankNow],
    tank: Tank,
    seen: Balance,
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
        by_level = _by_level(settings, tank, here, seen, learnt, why, now, zone)
        if by_level is not None:
            return by_level
    if here.state == "unknown" or here.since is None:
        return TankOutlook(reason="its floats are unknown")
    if here.state == "low" and why is not None:
        return _low(settings, states, tank, seen, learnt, why, now, zone)
    return _standing(settings, states, tank, seen, learnt, now, zone)


def _by_level(
    settings: Settings,
    tank: Tank,
    here: TankNow,
    seen: Balance,
    learnt: Learnt,
    why: Causes | None,
    now: datetime,
    zone: tzinfo,
) -> TankOutlook | None:
    """By its gauge: what is in it now, and how that goes on; of a low tank read for some hours only, by what is thought of the cause."""
    assert tank.shape is not None
    use, capacity = learnt.use_l_day, capacity_l(tank.shape)
    ahead = level_outlook(here.levels, capacity, full_litres(tank) or capacity, use, now, zone)
    if ahead is None:
        return None
    cause, dry, (read_at, litres) = why.cause if why else None, ahead.dry_at, here.levels[-1]
    if dry is None and ahead.flows.hours < LEAST_HOURS and why is not None and use > 0 and litres > 0:
        dry = _by_cause(seen, learnt, tank, litres, read_at, now)
    return TankOutlook(
        litres=ahead.litres,
        dry_at=dry,
        full_at=ahead.full_at if here.state != "high" else None,
        cause=cause,
        advice=advice(cause, dry, now, tank, settings),
    )


def _by_cause(
    seen: Balance, learnt: Learnt, tank: Tank, litres: float, read_at: datetime, now: datetime
) -> Times | None:
    """By what is thought of the cause, from what was read last."""
    full_drop = float_litres(tank, "low") or litres
    parts = [
        replace(part, days=max(part.days * litres / full_drop, 1e-3), since=read_at)
        for part in dry_parts(seen, learnt, tank.id)
    ]
    return dry_times(parts, read_at, now, seen.clock) if parts else None


def _low(
    settings: Settings,
    states: Mapping[str, TankNow],
    tank: Tank,
    seen: Balance,
    learnt: Learnt,
    why: Causes,
    now: datetime,
    zone: tzinfo,
) -> TankOutlook:
    since = states[tank.id].since
    litres = float_litres(tank, "low")
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
    parts = dry_parts(seen, learnt, tank.id)
    if learnt.figure_l_day <= 0 or not parts:
        return TankOutlook(
            litres=Triple(low=0.0, likely=0.7 * litres, high=litres), cause=why.cause, reason="no use is configured"
        )
    times = dry_times(parts, since, _known_by(states[tank.id], now), seen.clock)
    return TankOutlook(
        litres=left(parts, litres, now, seen.clock),
        dry_at=times,
        cause=why.cause,
        advice=advice(why.cause, times, now, tank, settings),
    )


def _standing(
    settings: Settings,
    states: Mapping[str, TankNow],
    tank: Tank,
    seen: Balance,
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
    if here.state == "high" and here.heard_until is None:
        return TankOutlook(litres=Triple(low=full, likely=(full + capacity) / 2, high=capacity))
    over = past.over_at
    high_since = past.high_at or past.high_over_at
    if here.heard_until is not None:
        return _fed_by_a_low_one(settings, states, tank, seen, learnt, None, now)
    if over is not None and (high_since is None or high_since < over):
        parts = fill_parts(settings, states, tank, learnt, full - low, over, zone) if full > low else []
        filled = filling(parts, low, full, capacity, over, now) if parts else None
        fed_low_at = _fed_low_since(states, tank)
        if filled is not None and fed_low_at is not None and fed_low_at > over:
            return _fed_by_a_low_one(settings, states, tank, seen, learnt, filled.litres, now)
        if filled is not None:
            return TankOutlook(litres=filled.litres, full_at=filled.full_at)
    spare = capacity - low
    litres = Triple(low=low + 0.25 * spare, likely=low + 0.8 * spare, high=capacity)
    return _fed_by_a_low_one(settings, states, tank, seen, learnt, litres, now)


def _fed_by_a_low_one(
    settings: Settings,
    states: Mapping[str, TankNow],
    tank: Tank,
    seen: Balance,
    learnt: Learnt,
    litres: Triple | None,
    now: datetime,
) -> TankOutlook:
    """Not low itself; but if all it is fed by is low, what it and they hold is what there is."""
    since = _fed_low_since(states, tank)
    if since is None or learnt.figure_l_day <= 0:
        return TankOutlook(litres=litres)
    parts = dry_parts(seen, learnt, tank.id)
    known_by = _known_by(states[tank.id], now)
    return TankOutlook(litres=litres, dry_at=dry_times(parts, since, known_by, seen.clock) if parts else None)


def _fed_low_since(states: Mapping[str, TankNow], tank: Tank) -> datetime | None:
    """Since when the first of those that feed it is low; None unless all of them are."""
    feeders = [states[upstream] for upstream in tank.fed_by if upstream in states]
    lows = [feeder.since for feeder in feeders if feeder.state == "low" and feeder.since is not None]
    return min(lows) if lows and len(lows) == len(feeders) else None


def _known_by(here: TankNow, now: datetime) -> datetime:
    """Up to when it is known not to be dry: a silent box would not have told."""
    return min(now, here.heard_until) if here.heard_until is not None else now
