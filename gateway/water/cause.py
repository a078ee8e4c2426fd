"""The order and timing of floats → why a tank is low, with how likely each explanation is.

Each explanation predicts a rate of draw between two known levels: with the supply stopped or the pipe blocked the house draws what it
always draws; with a leak or a hose running it draws several times as much. The rate seen (litres between two floats over the time
between their switches) is compared with both. What stands upstream decides between a stopped source and a blocked pipe. A float that
contradicts its neighbours, chatters, or stands low far longer than the water can last, is at fault itself.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import Literal

from gateway.facts import Cause, CauseKind
from gateway.settings.models import Settings, Tank
from gateway.water.demand import day_shares, demand_l_day
from gateway.water.draw_rate import Rate, rate_of
from gateway.water.learnt import Learnt, density, float_litres
from gateway.water.level_flows import Level
from gateway.water.volumes import below_l, capacity_l

SLOWER_SD, FASTER_SD, LOOSELY_SD = 0.6, 0.2, 0.4
"""Of log(rate), over ordinary use: what still comes down makes it seem slow; nothing but use makes it fast, and what stood between two tanks."""
STALE_TIMES = 3.0
"""A tank upstream that has been low for so many times what it and this one hold is always low: it tells nothing."""
HEAVY_ALONE = 0.42
"""With no other tank to tell: a stopped supply is a little likelier than a leak or a hose (common practice)."""
CLEAR_ENOUGH = 0.45
GAUGE_WINDOW, GAUGE_LEAST = timedelta(hours=12), timedelta(hours=2)
"""How far back a gauge's fall is looked at, and the least that says anything."""
RECENT_FAULT = timedelta(hours=2)
TOO_SOON = timedelta(minutes=5)
STUCK_TIMES = 4.0
FLOAT_AND_GAUGE_APART = 0.25
"""A low float and a gauge contradict each other where the gauge reads by so much more than stands below the float."""
Say = Callable[[datetime], str]


@dataclass(frozen=True, slots=True, kw_only=True)
class FloatSeen:
    """One float as it stands: `means`, its level, what it says and since when."""

    means: Literal["low", "high"]
    level_m: float | None
    state: Literal["unknown", "active", "idle"]
    since: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TankNow:
    """One tank as it stands. `levels`: litres that its gauge read lately, oldest first. `said_nothing`: unknown, but its controller is heard
    and never said that it is low: no sign that it holds water.
    """

    state: Literal["ok", "low", "high", "unknown"]
    since: datetime | None
    floats: tuple[FloatSeen, ...] = ()
    said_nothing: bool = False
    levels: Sequence[Level] = ()

    @property
    def stands(self) -> bool:
        """Whether a text said that it holds water above its low float."""
        return self.state in ("ok", "high")


@dataclass(frozen=True, slots=True, kw_only=True)
class Causes:
    """How likely each explanation is, the rate that was seen (a multiple of the figure), and the sentence."""

    weights: Mapping[CauseKind, float]
    cause: Cause
    rate: Rate | None = None
    loosely: bool = False


def causes(
    settings: Settings, states: Mapping[str, TankNow], tank: Tank, learnt: Learnt, now: datetime, zone: tzinfo, say: Say
) -> Causes | None:
    """Why the tank is low; None if it is not."""
    here = states[tank.id]
    if here.state != "low" or here.since is None:
        return None
    fault = _float_fault(settings, tank, here, learnt, now, zone, say)
    if fault is not None:
        return Causes(weights={"float-fault": 0.85, "unclear": 0.15}, cause=Cause(kind="float-fault", because=fault))
    up = _upstream(settings, states, tank)
    below = _downstream_low(settings, states, tank)
    draw_seen = _rate(settings, states, tank, up, below, learnt, zone)
    rate = draw_seen.rate if draw_seen else None
    weights = _with_rate(_before_rate(settings, tank, here, up, below, learnt), draw_seen, learnt)
    kind = max(weights, key=lambda explanation: weights[explanation])
    if weights[kind] < CLEAR_ENOUGH:
        kind = "unclear"
    because = " ".join([*_order(tank, here, up, below, say), *([draw_seen.said] if draw_seen else [])])
    loosely = draw_seen is not None and draw_seen.loosely
    return Causes(weights=weights, cause=Cause(kind=kind, because=because), rate=rate, loosely=loosely)


def _before_rate(
    settings: Settings,
    tank: Tank,
    here: TankNow,
    up: Sequence[tuple[Tank, TankNow]],
    below: Sequence[tuple[Tank, TankNow]],
    learnt: Learnt,
) -> dict[CauseKind, float]:
    """What the order of the floats makes of it, before any rate is looked at (common practice)."""
    low = [(upper, upper_now) for upper, upper_now in up if upper_now.state == "low"]
    fresh = [upper_now for upper, upper_now in low if not _stale(settings, tank, upper, upper_now, here)]
    if any(_before(upper, here) for upper in fresh):
        return {"supply-stopped": 0.75, "blocked-between": 0.02, "heavy-draw": 0.23}
    if fresh:
        return {"supply-stopped": 0.30, "blocked-between": 0.05, "heavy-draw": 0.65}
    if up and up[0][1].state == "high":
        return {"supply-stopped": 0.02, "blocked-between": 0.84, "heavy-draw": 0.14}
    if up and all(upper_now.stands for _, upper_now in up):
        if any(of_tank.means == "high" and of_tank.state == "idle" for of_tank in up[0][1].floats):
            return {"supply-stopped": 0.05, "blocked-between": 0.30, "heavy-draw": 0.65}
        return {"supply-stopped": 0.03, "blocked-between": 0.65, "heavy-draw": 0.32}
    if up:
        return {"supply-stopped": 0.40, "blocked-between": 0.35, "heavy-draw": 0.25}
    if any(
        lower_now.since is not None and here.since is not None and lower_now.since < here.since
        for _, lower_now in below
    ):
        return {"supply-stopped": 0.25, "heavy-draw": 0.75}
    heavy_share = learnt.heavy_share(HEAVY_ALONE)
    return {"supply-stopped": 1 - heavy_share, "heavy-draw": heavy_share}


def _stale(settings: Settings, tank: Tank, upper: Tank, upper_now: TankNow, here: TankNow) -> bool:
    held, use = _between(upper, tank), demand_l_day(settings.demand)
    if held is None or use <= 0 or upper_now.since is None or here.since is None:
        return False
    return here.since - upper_now.since > timedelta(days=STALE_TIMES * held / use)


def _with_rate(prior: Mapping[CauseKind, float], draw_seen: "_Seen | None", learnt: Learnt) -> dict[CauseKind, float]:
    """Bayes: how well the rate fits ordinary use, by the hours, and a leak, by the clock."""
    if draw_seen is None:
        return dict(prior)
    usual, heavy = learnt.usual, learnt.heavy
    over = draw_seen.rate.log_by_hours - usual.mean
    faster = math.hypot(LOOSELY_SD if draw_seen.loosely else FASTER_SD, usual.spread)
    ordinary = 2 / (1 + SLOWER_SD / faster) * density(over, 0.0, faster if over > 0 else SLOWER_SD)
    ordinary *= 1.0 if over > 0 else SLOWER_SD / faster
    leak = density(draw_seen.rate.log_by_clock, heavy.mean, heavy.spread)
    weights = {kind: weight * (leak if kind == "heavy-draw" else ordinary) for kind, weight in prior.items()}
    total = sum(weights.values())
    return {kind: weight / total for kind, weight in weights.items()} if total > 0 else {"heavy-draw": 1.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """A rate that was seen, the sentence, and whether what stood between the floats is only guessed."""

    rate: Rate
    said: str
    loosely: bool


def _rate(
    settings: Settings,
    states: Mapping[str, TankNow],
    tank: Tank,
    up: Sequence[tuple[Tank, TankNow]],
    below: Sequence[tuple[Tank, TankNow]],
    learnt: Learnt,
    zone: tzinfo,
) -> _Seen | None:
    """The draw seen as a multiple of the figure, from the best pair of levels, and what was seen in words."""
    here = states[tank.id]
    assert here.since is not None
    by_gauge = _seen_by_gauge(settings, here, zone)
    if by_gauge is not None:
        return by_gauge
    high, low = float_litres(tank, "high"), float_litres(tank, "low")
    left_high = learnt.past(tank.id).high_over_at
    if high is not None and low is not None and left_high is not None and left_high < here.since:
        return _seen(settings, high - low, left_high, here.since, zone, "from its high to its low float", False)
    pairs: list[tuple[Tank, Tank, datetime | None, datetime | None]] = [
        (other, tank, other_now.since, here.since) for other, other_now in up if other_now.state == "low"
    ]
    pairs += [(tank, other, here.since, other_now.since) for other, other_now in below]
    for upper, lower, since, until in pairs:
        litres = _between(upper, lower)
        if litres is not None and since is not None and until is not None and since < until:
            between = f"between the low floats of {upper.name} and {lower.name}"
            return _seen(settings, litres, since, until, zone, between, True)
    return None


def _seen_by_gauge(settings: Settings, here: TankNow, zone: tzinfo) -> "_Seen | None":
    """What went by the gauge in the last half day; what came in meanwhile hides as much."""
    if not here.levels:
        return None
    until, last = here.levels[-1]
    window = [level for level in here.levels if until - level[0] <= GAUGE_WINDOW]
    since, first = window[0]
    if until - since < GAUGE_LEAST:
        return None
    return _seen(settings, first - last, since, until, zone, "by its gauge", False)


def _seen(
    settings: Settings, litres: float, since: datetime, until: datetime, zone: tzinfo, between: str, loosely: bool
) -> _Seen | None:
    rate = rate_of(litres, demand_l_day(settings.demand), since, until, zone)
    if rate is None:
        return None
    hours = (until - since) / timedelta(hours=1)
    told = f"About {litres:.0f} l went in {hours:.1f} h {between}: {rate.by_hours:.1f} times the usual use."
    return _Seen(rate=rate, said=told, loosely=loosely)


def _between(upper: Tank, lower: Tank) -> float | None:
    """Litres used from the upper tank's low float until the lower one's: the upper rest, and most of what the lower held."""
    upper_rest, low = float_litres(upper, "low"), float_litres(lower, "low")
    if upper_rest is None or low is None or lower.shape is None:
        return None
    return upper_rest + 0.7 * (capacity_l(lower.shape) - low)


def _float_fault(
    settings: Settings, tank: Tank, here: TankNow, learnt: Learnt, now: datetime, zone: tzinfo, say: Say
) -> str | None:
    past = learnt.past(tank.id)
    assert here.since is not None
    litres_at_low = _low_float_litres(tank)
    if here.levels and litres_at_low is not None and here.levels[-1][1] > litres_at_low * (1 + FLOAT_AND_GAUGE_APART):
        return f"The gauge of {tank.name} reads {here.levels[-1][1]:.0f} l, well above the float that says low: one of them is wrong."
    highs = [of_tank for of_tank in here.floats if of_tank.means == "high" and of_tank.state == "active"]
    if highs:
        return f"{tank.name} says low (since {say(here.since)}) and high at once: of_tank of its floats is wrong."
    if past.faults and now - past.faults[-1] < RECENT_FAULT:
        return f"The float of {tank.name} switched to and fro at {say(past.faults[-1])}."
    last_over = past.lows[-1][1] if past.lows else None
    if last_over is not None and timedelta(0) <= here.since - last_over < TOO_SOON:
        return (
            f"{tank.name} was low again at {say(here.since)}, minutes after {say(last_over)}: no water moves so fast."
        )
    litres, use = float_litres(tank, "low"), demand_l_day(settings.demand)
    # where a gauge reads low too, the tank is as the float says, however long
    if litres is not None and use > 0 and past.dry_at is None and not here.levels:
        used = use * day_shares(here.since, now, zone) * math.exp(learnt.usual.mean)
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
    sentences = [f"{tank.name} is low since {say(here.since)}."]
    for other, other_now in (*up, *below):
        if other_now.state == "low" and other_now.since is not None:
            sentences.append(f"{other.name} is low since {say(other_now.since)}.")
        elif other_now.stands:
            sentences.append(f"{other.name} stands above its low float.")
        elif other_now.said_nothing:
            sentences.append(f"{other.name} has not sentences that it is low.")
        else:
            sentences.append(f"{other.name} is unknown.")
    if not up and not below:
        sentences.append("No other tank's float tells more.")
    return sentences


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


def _before(earlier: TankNow, later: TankNow) -> bool:
    return earlier.since is not None and later.since is not None and earlier.since <= later.since
