"""How fast a tank filled, episode by episode → whether the supply delivers less than it did.

Each fill from the low float to the high one shows litres a day on top of what was used meanwhile; together that is what was delivered. Its
logarithm is watched by a one-sided cumulative sum (Page 1954; Montgomery, Introduction to Statistical Quality Control, 7th ed., 9.1): what
each fill lies below the first ones, less half of the loss that is to be found, is added up, never below zero. Limit: Siegmund 1985, from
memory.
"""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from gateway.water.bisection import reached
from gateway.water.inflow import MINUTES_A_DAY

BASE = 4
"""So many fills show what it delivers when it is well: fewer are too uncertain to hold anything against."""
LOSS = -math.log(0.75)
"""A quarter less is to be found: a leaking valve or a half clogged screen, before tanks run low by it."""
FALSE_ALARM_FILLS = 8000.0
"""By the formula, which takes the first fills for known: their own error stays in all that is held against them, so that it comes to one
household in fourteen over forty fills (simulated, fills that differ by a tenth)."""
PRIOR_SD, PRIOR_CASES, LEAST_SD = 0.1, 4.0, 0.05
"""A fill differs from the next by a tenth (what is used meanwhile; floats switch within a twentieth of what lies between them)."""
RANGE_TO_SD = 1.128
"""Mean moving range over standard deviation (Montgomery, appendix VI, d2 of two)."""
OVERSHOOT = 1.166
"""Siegmund's correction: a sum is beyond its limit by so much more when it is seen to be."""
LEAST_FILLS = 2
"""One fill alone may be guests, or a tap left open."""
WELL_AGAIN, WELL_FILLS = 0.9, 3
"""Well again where the middle of the last fills is within a tenth of the first ones."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivered:
    """Litres a minute: of the first fills, and of those since it may have changed; `weaker`: whether that is clearly less."""

    first_l_min: float
    last_l_min: float
    weaker: bool


def cusum_below(values: Sequence[float], target: float, allowance: float) -> list[tuple[float, int]]:
    """After each value the sum of what they lie below the target, and how many values it has been above zero."""
    sums, total, since = [], 0.0, 0
    for value in values:
        total = max(0.0, total + target - allowance - value)
        since = since + 1 if total > 0 else 0
        sums.append((total, since))
    return sums


def run_length(allowance: float, limit: float) -> float:
    """Values until a one-sided sum passes its limit by chance, both in standard deviations (Siegmund's approximation)."""
    exponent = 2 * allowance * (limit + OVERSHOOT)
    return (math.exp(exponent) - exponent - 1) / (2 * allowance**2)


def delivered(fills: Sequence[float], use_l_day: float) -> Delivered | None:
    """From logs of net litres a day, oldest first; None with too few episodes."""
    if len(fills) <= BASE:
        return None
    logs = [math.log((math.exp(fill) + use_l_day) / MINUTES_A_DAY) for fill in fills]
    first, later = statistics.fmean(logs[:BASE]), logs[BASE:]
    sd = _sd(logs) * math.sqrt(1 + 1 / BASE)  # the first ones are not known for sure either
    allowance = LOSS / sd / 2
    limit = reached(lambda limit: run_length(allowance, limit), FALSE_ALARM_FILLS, 0.0, 30.0, 1e-3)
    changed = _lasting_change([log / sd for log in later], first / sd, sd, allowance, limit)
    newest = later[-WELL_FILLS:] if changed is None else later[changed:]
    last = math.exp(statistics.fmean(newest))
    return Delivered(first_l_min=math.exp(first), last_l_min=last, weaker=changed is not None)


def _lasting_change(later: Sequence[float], target: float, sd: float, allowance: float, limit: float) -> int | None:
    """Since which fill less is delivered; None where it is well, or well again. All in standard deviations."""
    well_again, begun = target + math.log(WELL_AGAIN) / sd, 0
    while True:
        sums = cusum_below(later[begun:], target, allowance)
        alarm = next(
            (number for number, (total, since) in enumerate(sums, begun) if total > limit and since >= LEAST_FILLS),
            None,
        )
        if alarm is None:
            return None
        ends = range(alarm + 1 + WELL_FILLS, len(later) + 1)
        well = next((end for end in ends if statistics.median(later[end - WELL_FILLS : end]) >= well_again), None)
        if well is None:
            return alarm - sums[alarm - begun][1] + 1
        begun = well


def _sd(logs: Sequence[float]) -> float:
    """Of one fill, by the mean moving range, which a step hardly widens; few fills count beside what is usual."""
    ranges = [abs(after - before) for before, after in pairwise(logs)]
    seen = statistics.fmean(ranges) / RANGE_TO_SD
    mixed = (PRIOR_CASES * PRIOR_SD + len(ranges) * seen) / (PRIOR_CASES + len(ranges))
    return max(mixed, LEAST_SD)
