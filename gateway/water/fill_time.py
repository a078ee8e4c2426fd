"""When a tank left its low float, the source and past fills → what it holds and when it is full.

What flows in is the source's figure less the use, both uncertain. A tank upstream that stands above its own low float gives what it holds as
fast as the pipe lets it, which nobody configured: the belief is then higher and wider, until fills that were seen narrow it.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.facts import Triple
from gateway.settings.models import Settings, Tank
from gateway.water.cause import TankNow
from gateway.water.demand import demand_l_day
from gateway.water.dry_time import LONGEST_DAYS, Times
from gateway.water.inflow import MINUTES_A_DAY, delivered_l_min
from gateway.water.learnt import Learnt, Normal, update
from gateway.water.volumes import capacity_l

INFLOW_SD = 0.15
"""A source's flow differs from its figure by a sixth or so (common practice)."""
LEAST_SD, MOST_SD = 0.2, 0.7
FILL_NOISE_SD = 0.12
STANDING_UPSTREAM_TIMES, STANDING_UPSTREAM_SD = 2.0, 0.6
"""What comes down a pipe from a tank with water in it, over what the source gives: unknown pipe, so twice, give or take."""
NO_SOURCE_TIMES, NO_SOURCE_SD = 2.0, 0.8
"""With no source configured: it fills with about twice the use, net, or else it would never have been full."""
FILLING_TIMES = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """Litres now and when it is full."""

    litres: Triple
    full_at: Times


def fill_belief(settings: Settings, states: Mapping[str, TankNow], tank: Tank, learnt: Learnt) -> Normal | None:
    """The belief about log(net litres a day) while it fills; None where neither source, use nor past says anything."""
    fills = learnt.past(tank.id).fills
    draw = learnt.usual
    use = demand_l_day(settings.demand) * math.exp(draw.mean)
    pump = settings.source.pump
    if pump is None:
        if fills:
            return update(sum(fills) / len(fills), LEAST_SD, fills, FILL_NOISE_SD)
        return update(math.log(use * NO_SOURCE_TIMES), NO_SOURCE_SD, (), FILL_NOISE_SD) if use > 0 else None
    inflow = delivered_l_min(pump) * MINUTES_A_DAY
    standing = any(states[upstream].stands for upstream in tank.fed_by if upstream in states)
    if standing:
        inflow *= STANDING_UPSTREAM_TIMES
    net = inflow - use if inflow > 1.1 * use else 0.3 * inflow
    sd = math.hypot(INFLOW_SD * inflow, use * draw.spread) / max(net, 1e-3)
    sd = min(max(sd, LEAST_SD), MOST_SD)
    if standing:
        sd = max(sd, STANDING_UPSTREAM_SD)
    return update(math.log(max(net, 1e-3)), sd, fills, FILL_NOISE_SD)


def longest_refill(settings: Settings, states: Mapping[str, TankNow], tank: Tank, learnt: Learnt) -> timedelta | None:
    """From empty to full, as long as nine fills of ten take at most; None where shape, or source, use and past are unknown."""
    belief = fill_belief(settings, states, tank, learnt)
    if belief is None or tank.shape is None:
        return None
    slow_l_day = math.exp(belief.mean - 1.2816 * belief.spread)
    return timedelta(days=min(capacity_l(tank.shape) / slow_l_day, LONGEST_DAYS))


def filling(belief: Normal, low: float, full: float, capacity: float, over: datetime, now: datetime) -> Filling | None:
    """Between its low float and full; None once it must long be full."""
    rates = [math.exp(belief.mean + z * belief.spread) for z in (-1.2816, 0.0, 1.2816)]
    days = (now - over) / timedelta(days=1)
    if full <= low or days > FILLING_TIMES * (full - low) / rates[1]:
        return None
    litres = [min(capacity, low + rate * days) for rate in rates]
    ends = [over + timedelta(days=min((full - low) / rate, LONGEST_DAYS)) for rate in reversed(rates)]
    early, likely, late = (max(now, end) for end in ends)
    return Filling(litres=Triple(low=litres[0], likely=litres[1], high=litres[2]), full_at=(early, likely, late))
