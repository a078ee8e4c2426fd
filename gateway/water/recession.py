"""What fills and slow low spells showed of the source, over weeks → whether it recedes, and how much of what it gave it gives now.

A spring that recedes does so by the same share each day (Maillet 1905: an exponential), a straight line in the logarithm: fitted with each
showing weighed by how sure it is. It is only said where that line is far from level, where so much is gone that nobody takes it for the
noise of the fills, and where one step (a clogged screen, a worn pump, which `pump_health` finds) does not explain them better.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

LOOKS_BACK = timedelta(days=150)
"""A dry spell or a season; what was before it tells of another one."""
LEAST_SHOWN, LEAST_SPAN = 6, timedelta(days=21)
FRESH = timedelta(days=30)
"""What was last shown longer ago tells nothing of today."""
GONE_AT_LEAST = 0.20
"""Less is within what a season does to any spring (a fifth: common practice)."""
FAR_FROM_LEVEL = 3.5
"""Standard errors of the slope. By simulation, not by a table, for it is looked at with every fill: none of a hundred steady springs was said
to recede in sixteen fills, nor one of sixty whose garden drinks half the use again in the warmest weeks."""
DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What the source gave by one fill or one slow low spell that ended then: log of litres a day, and how far that may be off."""

    at: datetime
    log_l_day: float
    sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Recession:
    """Litres a day at the first showing and at the last, by the line."""

    since: datetime
    was_l_day: float
    now_l_day: float

    @property
    def share(self) -> float:
        """What it gives of what it gave."""
        return self.now_l_day / self.was_l_day


def recession(shown: Sequence[Shown], now: datetime) -> Recession | None:
    """None where it does not recede, or too little shows it."""
    recent = sorted((each for each in shown if now - LOOKS_BACK <= each.at <= now), key=lambda each: each.at)
    if len(recent) < LEAST_SHOWN or recent[-1].at - recent[0].at < LEAST_SPAN or now - recent[-1].at > FRESH:
        return None
    days = [(each.at - recent[0].at) / DAY for each in recent]
    logs, weights = [each.log_l_day for each in recent], [1 / each.sd**2 for each in recent]
    middle_day, middle = _mean(days, weights), _mean(logs, weights)
    spread = sum(weight * (day - middle_day) ** 2 for day, weight in zip(days, weights, strict=True))
    slope = sum(w * (d - middle_day) * (log - middle) for d, log, w in zip(days, logs, weights, strict=True)) / spread
    line = [middle + slope * (day - middle_day) for day in days]
    misfit = _misfit(logs, line, weights)
    error = math.sqrt(max(1.0, misfit / (len(logs) - 2)) / spread)
    gone = 1 - math.exp(line[-1] - line[0])
    if slope > -FAR_FROM_LEVEL * error or gone < GONE_AT_LEAST:
        return None
    # a step has one figure more to fit with (Schwarz 1978)
    if _best_step(logs, weights) + math.log(len(logs)) < misfit:
        return None
    return Recession(since=recent[0].at, was_l_day=math.exp(line[0]), now_l_day=math.exp(line[-1]))


def _best_step(logs: Sequence[float], weights: Sequence[float]) -> float:
    """The misfit of the best two levels, one after the other, of two showings at the least."""
    misfits = []
    for at in range(2, len(logs) - 1):
        before, after = _mean(logs[:at], weights[:at]), _mean(logs[at:], weights[at:])
        misfits.append(_misfit(logs, [before] * at + [after] * (len(logs) - at), weights))
    return min(misfits)


def _mean(values: Sequence[float], weights: Sequence[float]) -> float:
    return sum(value * weight for value, weight in zip(values, weights, strict=True)) / sum(weights)


def _misfit(logs: Sequence[float], fitted: Sequence[float], weights: Sequence[float]) -> float:
    return sum(w * (log - fit) ** 2 for log, fit, w in zip(logs, fitted, weights, strict=True))
