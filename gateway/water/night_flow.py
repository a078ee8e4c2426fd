"""Litres that a gauge read → a fall that goes on through the night, which is no use but a tap left open, a cistern that runs, or a leak.

The method of water supply: while people sleep a house draws next to nothing, so what still goes then is lost (minimum night flow, 02 to 04 h;
6 % of people awake, 10 l a cistern: after McKenzie 1999, SANFLOW, as cited in a Water Supply paper). Told for one house only where it was
so in several nights and more than one flush an hour; what comes in meanwhile hides as much, so it is at least that.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from itertools import pairwise

from gateway.water.level_flows import Level

NIGHT = (time(0, 30), time(5, 0))
"""Wider than the hours of the method, for a house has no meter that is read each minute."""
NIGHTS = 3
FLUSH_L_H = 10.0
LEAST_READINGS = 3
LEAST_HOURS = 2.5
QUANTA = 2.0
"""A gauge that moves in steps must have moved by more than one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NightFlow:
    """The least that went in each of the last nights, litres an hour."""

    l_h: float
    nights: int


def night_flow(levels: Sequence[Level], last_night: date, zone: tzinfo) -> NightFlow | None:
    """What went in every one of the last nights, up to the one that ended on that day; None where one was quiet or not looked at."""
    step = _least_step(levels)
    falls = [_fall_l_h(levels, last_night - timedelta(days=ago), step, zone) for ago in range(NIGHTS)]
    steady = [fall for fall in falls if fall is not None and fall > FLUSH_L_H]
    return NightFlow(l_h=min(steady), nights=NIGHTS) if len(steady) == NIGHTS else None


def was_looked_at(levels: Sequence[Level], night: date, zone: tzinfo) -> bool:
    """Whether the gauge was read often enough in the night that ended on that day."""
    return _long_enough(_in_night(levels, night, zone))


def _fall_l_h(levels: Sequence[Level], night: date, step: float, zone: tzinfo) -> float | None:
    """Litres an hour through one night; 0 where it did not fall in both halves of it; None where too little was read."""
    read = _in_night(levels, night, zone)
    if not _long_enough(read):
        return None
    (since, first), (until, last) = read[0], read[-1]
    middle = read[len(read) // 2][1]
    if first - last < QUANTA * step or first - middle <= 0 or middle - last <= 0:
        return 0.0
    return (first - last) / ((until - since) / timedelta(hours=1))


def _in_night(levels: Sequence[Level], night: date, zone: tzinfo) -> list[Level]:
    start, end = (datetime.combine(night, clock, zone) for clock in NIGHT)
    return [level for level in levels if start <= level[0] <= end]


def _long_enough(read: Sequence[Level]) -> bool:
    return len(read) >= LEAST_READINGS and read[-1][0] - read[0][0] >= timedelta(hours=LEAST_HOURS)


def _least_step(levels: Sequence[Level]) -> float:
    """The least by which the gauge ever moved: it tells no less."""
    moves = [abs(after - before) for (_, before), (_, after) in pairwise(levels)]
    return min((move for move in moves if move > 1e-6), default=0.0)
