"""Weighted explanations, each with a belief about the draw → when the water is gone and what is left: quantiles of their mixture.

Each part is log-normal in draw / figure. The early and late ends are the mixture's tenth and ninetieth percentile; the likely time is the
middle of the leading explanation, so that it agrees with the cause that is named. Given that it is not dry yet, times already past do
not count. Deterministic: read off the mixture's distribution function.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, tzinfo

from gateway.facts import Triple
from gateway.water.bisection import reached
from gateway.water.demand import day_shares

LEVEL_SD = 0.08
"""A float switches within some centimetres of its level (published differentials 20-50 mm): log-sd of the litres below it."""
FIRST_GUESS_DAYS, LONGEST_DAYS = 0.5, 400.0
CLOSE_ENOUGH = 1e-6
"""Of days or log-litres: a tenth of a second, a millionth of the litres."""
SURELY_GONE = 0.9
Times = tuple[datetime, datetime, datetime]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One explanation: its weight, its belief about log(draw / figure), and whether it draws around the clock, as a leak does."""

    weight: float
    mean: float
    spread: float
    around_the_clock: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """What the figure says was drawn between two times, litres: by the house's hours, and evenly around the clock."""

    by_hours: float
    by_clock: float

    def of(self, part: Part) -> float:
        """What that explanation goes by."""
        return self.by_clock if part.around_the_clock else self.by_hours


def figure_drawn(use: float, since: datetime, until: datetime, zone: tzinfo) -> Drawn:
    """`use` litres a day, between two times."""
    days = max(0.0, (until - since) / timedelta(days=1))
    return Drawn(by_hours=use * day_shares(since, until, zone), by_clock=use * days)


def dry_times(parts: Sequence[Part], litres: float, use: float, since: datetime, now: datetime, zone: tzinfo) -> Times:
    """When `litres` are drawn, given that they are not by now; as it was, where they surely are."""

    def drawn_by(among: Sequence[Part], at: datetime) -> float:
        return _gone(among, figure_drawn(use, since, at, zone), litres)

    surely = drawn_by(parts, now) > SURELY_GONE
    floor = since if surely else now

    def at(among: Sequence[Part], quantile: float) -> datetime:
        gone = 0.0 if surely else drawn_by(among, now)
        wanted = gone + quantile * (1 - gone)
        low, high = 0.0, FIRST_GUESS_DAYS
        while high < LONGEST_DAYS and drawn_by(among, since + timedelta(days=high)) < wanted:
            low, high = high, min(2 * high, LONGEST_DAYS)
        days = reached(lambda days: drawn_by(among, since + timedelta(days=days)), wanted, low, high, CLOSE_ENOUGH)
        return max(floor, since + timedelta(days=days))

    early, late = at(parts, 0.1), at(parts, 0.9)
    so_far = figure_drawn(use, since, floor, zone)
    likely = at(_leading(parts, so_far, litres), 0.5)
    return early, min(max(early, likely), late), late


def _leading(parts: Sequence[Part], so_far: Drawn, litres: float) -> list[Part]:
    """The explanation that is likeliest, given that the water has lasted until now; as the only one."""
    lasting = [part.weight * (1 - _gone([replace(part, weight=1.0)], so_far, litres)) for part in parts]
    return [replace(parts[lasting.index(max(lasting))], weight=1.0)]


def _gone(parts: Sequence[Part], drawn: Drawn, litres: float) -> float:
    """How likely it is that `litres` are gone while the figure says `drawn`."""
    if drawn.by_clock <= 0:
        return 0.0
    return sum(part.weight * _phi((part.mean - math.log(litres / drawn.of(part))) / part.spread) for part in parts)


def left(parts: Sequence[Part], litres: float, drawn: Drawn) -> Triple:
    """What is left of `litres` after the figure says `drawn` went: the mixture's quantiles."""
    if drawn.by_clock <= 0:
        return Triple(low=litres * (1 - 1.28 * LEVEL_SD), likely=litres, high=litres * (1 + 1.28 * LEVEL_SD))
    low, likely, high = (max(0.0, litres - _used(parts, drawn, quantile)) for quantile in (0.9, 0.5, 0.1))
    return Triple(low=low, likely=likely, high=high)


def _used(parts: Sequence[Part], drawn: Drawn, quantile: float) -> float:
    def share(log_litres: float) -> float:
        return sum(
            part.weight * _phi((log_litres - math.log(drawn.of(part)) - part.mean) / part.spread) for part in parts
        )

    middle = math.log(drawn.by_clock)
    return math.exp(reached(share, quantile, middle - 8.0, middle + 8.0, CLOSE_ENOUGH))


def _phi(z: float) -> float:
    return 0.5 * (1 + math.erf(z / math.sqrt(2)))
