"""Weighted explanations, each with a belief about the draw → when the water is gone and what is left: quantiles of their mixture.

Each part is log-normal in draw / figure. The early and late ends are the mixture's tenth and ninetieth percentile; the likely time is the
middle of the leading explanation, so that it agrees with the cause that is named. Given that it is not dry yet, times already past do
not count. Deterministic: bisection on the mixture's distribution function.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, tzinfo

from gateway.facts import Triple
from gateway.water.demand import day_shares, when_used

LEVEL_SD = 0.08
"""A float switches within some centimetres of its level (published differentials 20-50 mm): log-sd of the litres below it."""
LONGEST_DAYS = 400.0
SURELY_GONE = 0.9
Times = tuple[datetime, datetime, datetime]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One explanation: its weight and its belief about log(draw / figure)."""

    weight: float
    mean: float
    spread: float


def dry_times(parts: Sequence[Part], litres: float, use: float, since: datetime, now: datetime, zone: tzinfo) -> Times:
    """When `litres` are drawn, given that they are not by now; as it was, where they surely are."""
    figure = use * day_shares(since, now, zone)
    surely = _drawn_by(parts, figure, litres) > SURELY_GONE
    floor = since if surely else now

    def at(among: Sequence[Part], quantile: float) -> datetime:
        gone = 0.0 if surely else _drawn_by(among, figure, litres)
        days = _days_until(among, litres, use, gone + quantile * (1 - gone))
        return max(floor, when_used(since, days, zone, longest_days=LONGEST_DAYS))

    early, late = at(parts, 0.1), at(parts, 0.9)
    likely = at(_leading(parts, 0.0 if surely else figure, litres), 0.5)
    return early, min(max(early, likely), late), late


def _leading(parts: Sequence[Part], figure_litres: float, litres: float) -> list[Part]:
    """The explanation that is likeliest, given that the water has lasted until now; as the only one."""
    lasting = [part.weight * (1 - _drawn_by([replace(part, weight=1.0)], figure_litres, litres)) for part in parts]
    return [replace(parts[lasting.index(max(lasting))], weight=1.0)]


def _drawn_by(parts: Sequence[Part], figure_litres: float, litres: float) -> float:
    """How likely it is that `litres` were drawn while the figure says `figure_litres`."""
    if figure_litres <= 0:
        return 0.0
    ratio = math.log(litres / figure_litres)
    return sum(part.weight * _phi((part.mean - ratio) / part.spread) for part in parts)


def _days_until(parts: Sequence[Part], litres: float, use: float, wanted: float) -> float:
    return _reached(lambda days: _drawn_by(parts, use * days, litres), wanted, 0.0, LONGEST_DAYS)


def left(parts: Sequence[Part], litres: float, used: float) -> Triple:
    """What is left of `litres` after the figure says `used` went: the mixture's quantiles."""
    if used <= 0:
        return Triple(low=litres * (1 - 1.28 * LEVEL_SD), likely=litres, high=litres * (1 + 1.28 * LEVEL_SD))
    factors = [_factor(parts, quantile) for quantile in (0.9, 0.5, 0.1)]
    low, likely, high = (max(0.0, litres - used * factor) for factor in factors)
    return Triple(low=low, likely=likely, high=high)


def _factor(parts: Sequence[Part], quantile: float) -> float:
    def share(log_draw: float) -> float:
        return sum(part.weight * _phi((log_draw - part.mean) / part.spread) for part in parts)

    return math.exp(_reached(share, quantile, -6.0, 6.0))


def _reached(share: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """Where a share that only grows comes to what is wanted, by bisection."""
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if share(middle) < wanted else (low, middle)
    return (low + high) / 2


def _phi(z: float) -> float:
    return 0.5 * (1 + math.erf(z / math.sqrt(2)))
