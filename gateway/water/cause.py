"""The explanations of a low tank, weighed → its cause in one word, and the sentence of names and times that it stands on.

A float that contradicts its neighbours, chatters, or stands low far longer than the water can last, is at fault itself.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from gateway.facts import Cause, CauseKind
from gateway.settings.models import Settings
from gateway.settings.water_tables import Tank
from gateway.water.balance import Balance
from gateway.water.demand import day_shares
from gateway.water.float_levels import float_litres
from gateway.water.inflow import MINUTES_A_DAY
from gateway.water.learnt import Learnt
from gateway.water.recession import recession
from gateway.water.tank_now import TankNow
from gateway.water.volumes import below_l

CLEAR_ENOUGH = 0.6
"""A cause is named where it is likelier than not, clearly: at 0.55 one in twenty-five that were named was wrong, at 0.6 one in thirty-three."""
CLEAR_ALONE = 0.8
"""One float alone cannot tell why; only a household whose troubles were nearly all of one kind is told which."""
RECENT_FAULT = timedelta(hours=2)
TOO_SOON = timedelta(minutes=5)
STUCK_TIMES = 4.0
FLOAT_AND_GAUGE_APART = 0.25
"""A low float and a gauge contradict each other where the gauge reads by so much more than stands below the float."""
TOLD_TIMES = (0.2, 12.0)
"""A rate beyond these is no rate: one of the two times was of something else."""
Say = Callable[[datetime], str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Causes:
    """How likely each explanation is, and the sentence."""

    weights: Mapping[CauseKind, float]
    cause: Cause


def causes(
    settings: Settings,
    states: Mapping[str, TankNow],
    tank: Tank,
    seen: Balance,
    learnt: Learnt,
    now: datetime,
    zone: tzinfo,
    say: Say,
) -> Causes | None:
    """Why the tank is low; None if it is not."""
    here = states[tank.id]
    if here.state != "low" or here.since is None:
        return None
    fault = _float_fault(settings, tank, here, learnt, now, zone, say)
    if fault is not None:
        return Causes(weights={"float-fault": 0.85, "unclear": 0.15}, cause=Cause(kind="float-fault", because=fault))
    weights = seen.weights()
    kind = max(weights, key=lambda explanation: weights[explanation])
    if weights[kind] < (CLEAR_ENOUGH if _something_tells(seen) else CLEAR_ALONE):
        kind = "unclear"
    up, below = _upstream(settings, states, tank), _downstream_low(settings, states, tank)
    because = " ".join([*_order(tank, here, up, below, say), *_rate_told(seen, kind), *_recession_told(learnt, now)])
    return Causes(weights=weights, cause=Cause(kind=kind, because=because))


def _something_tells(seen: Balance) -> bool:
    """Whether anything but that one float speaks for or against an explanation."""
    return len(seen.chain.holds_l) > 1 or sum(mark.seen_at is not None for mark in seen.chain.marks) > 1


def _rate_told(seen: Balance, kind: CauseKind) -> list[str]:
    """How much went between the two levels that were told last, where the cause that is named says what stood between them."""
    of_kind = [candidate for candidate in seen.weighed if candidate.explanation.kind == kind]
    if not of_kind:
        return []
    best = max(of_kind, key=lambda candidate: candidate.weight).explanation
    told = sorted(
        (days, mark.seen_at, mark)
        for mark, days in zip(seen.chain.marks, best.days, strict=True)
        if mark.seen_at is not None and days < math.inf
    )
    if len(told) < 2:
        return []
    (_, since, before), (_, until, after) = told[-2:]
    if before.stage != after.stage:
        return []  # how full the lower tank stood then was told by nobody
    litres = after.drained_l - before.drained_l
    shares = day_shares(since, until, seen.clock.zone)
    figure = seen.figure_l_day
    if until <= since or figure <= 0 or not TOLD_TIMES[0] < litres / shares / figure < TOLD_TIMES[1]:
        return []
    hours = (until - since) / timedelta(hours=1)
    return [f"About {litres:.0f} l went in {hours:.1f} h: {litres / shares / figure:.1f} times the usual use."]


def _recession_told(learnt: Learnt, now: datetime) -> list[str]:
    """That less comes from the source than some weeks ago, where fills and slow falls show it."""
    recedes = recession(learnt.shown, now)
    if recedes is None:
        return []
    was, gives = recedes.was_l_day / MINUTES_A_DAY, recedes.now_l_day / MINUTES_A_DAY
    return [
        f"Likely the source gives less than {(now - recedes.since).days} days ago: about {gives:.1f} of {was:.1f} l/min."
    ]


def _float_fault(
    settings: Settings, tank: Tank, here: TankNow, learnt: Learnt, now: datetime, zone: tzinfo, say: Say
) -> str | None:
    past = learnt.past(tank.id)
    now = min(now, here.heard_until) if here.heard_until is not None else now  # its box could not have told of later
    assert here.since is not None
    litres_at_low = _low_float_litres(tank)
    if here.levels and litres_at_low is not None and here.levels[-1][1] > litres_at_low * (1 + FLOAT_AND_GAUGE_APART):
        return f"The gauge of {tank.name} reads {here.levels[-1][1]:.0f} l, well above the float that says low: one of them is wrong."
    highs = [of_tank for of_tank in here.floats if of_tank.means == "high" and of_tank.state == "active"]
    if highs:
        return f"{tank.name} says low (since {say(here.since)}) and high at once: one of its floats is wrong."
    if past.faults and now - past.faults[-1] < RECENT_FAULT:
        return f"The float of {tank.name} switched to and fro at {say(past.faults[-1])}."
    last_over = past.lows[-1][1] if past.lows else None
    if last_over is not None and timedelta(0) <= here.since - last_over < TOO_SOON:
        return (
            f"{tank.name} was low again at {say(here.since)}, minutes after {say(last_over)}: no water moves so fast."
        )
    litres, use = float_litres(tank, "low"), learnt.figure_l_day
    # where a gauge reads low too, the tank is as the float says, however long; so is one upstream, whose running dry nobody sees at a tap
    may_be_dry = any(tank.id in other.fed_by for other in settings.tanks) or past.dry_at is not None
    if litres is not None and use > 0 and not may_be_dry and not here.levels:
        used = use * day_shares(here.since, now, zone) * math.exp(learnt.use.mean)
        if used > STUCK_TIMES * litres:
            return f"{tank.name} has been low since {say(here.since)}, far longer than the water below its float lasts."
    return None


def _low_float_litres(tank: Tank) -> float | None:
    """Water below its highest low float, where it has any."""
    levels = [switch.level_m for switch in tank.floats if switch.means == "low" and switch.level_m is not None]
    return below_l(tank.shape, max(levels)) if levels and tank.shape is not None else None


def _order(
    tank: Tank,
    here: TankNow,
    up: Sequence[tuple[Tank, TankNow]],
    below: Sequence[tuple[Tank, TankNow]],
    say: Say,
) -> list[str]:
    assert here.since is not None
    sentences = [_low_said(tank, here, here.since, say)]
    for other, other_now in (*up, *below):
        if other_now.state == "low" and other_now.since is not None:
            sentences.append(_low_said(other, other_now, other_now.since, say))
        elif other_now.stands:
            sentences.append(f"{other.name} stands above its low float.")
        elif other_now.said_nothing:
            sentences.append(f"{other.name} has not said that it is low.")
        else:
            sentences.append(f"{other.name} is unknown.")
    if not up and not below:
        sentences.append("No other tank's float tells more.")
    return sentences


def _low_said(tank: Tank, now: TankNow, since: datetime, say: Say) -> str:
    if now.heard_until is not None:
        return f"{tank.name} was low since {say(since)} and not heard of since {say(now.heard_until)}."
    return f"{tank.name} is low since {say(since)}."


def _upstream(settings: Settings, states: Mapping[str, TankNow], tank: Tank) -> list[tuple[Tank, TankNow]]:
    """Everything upstream that has floats, nearest first."""
    by_id = {configured.id: configured for configured in settings.tanks}
    upper_tanks: list[tuple[Tank, TankNow]] = []
    front, visited = list(tank.fed_by), set[str]()
    while front:
        upstream = front.pop(0)
        if upstream in visited or upstream not in by_id:
            continue
        visited.add(upstream)
        if by_id[upstream].floats or by_id[upstream].gauges:
            upper_tanks.append((by_id[upstream], states[upstream]))
        front.extend(by_id[upstream].fed_by)
    return upper_tanks


def _downstream_low(settings: Settings, states: Mapping[str, TankNow], tank: Tank) -> list[tuple[Tank, TankNow]]:
    """Tanks it feeds that are low as well."""
    return [
        (lower, states[lower.id])
        for lower in settings.tanks
        if tank.id in lower.fed_by and states[lower.id].state == "low"
    ]
