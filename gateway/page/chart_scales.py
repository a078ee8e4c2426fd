"""Figures and times → where they stand on a chart: months along, hours or amounts up, the middle half of what was seen."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import quantiles

from gateway.page.local_calendar import day_start, following_month, month_label, month_starts
from gateway.site import Site

HOUR_STEPS = (1 / 12, 1 / 3, 1.0, 3.0, 10.0, 24.0, 72.0, 240.0, 720.0, 2160.0, 8760.0)
"""Each about three times the one before, so that they stand evenly on a logarithmic scale."""
MOST_LEVELS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthScale:
    """The months that a chart spans, by their starts and names, and its end."""

    starts: tuple[datetime, ...]
    end: datetime
    names: tuple[str, ...]

    def share(self, at: datetime) -> float:
        """Where a time stands, 0 to 1."""
        return min(1.0, max(0.0, (at - self.starts[0]) / (self.end - self.starts[0])))

    @property
    def ends(self) -> tuple[datetime, ...]:
        """The end of each month."""
        return (*self.starts[1:], self.end)

    @property
    def labels(self) -> tuple[tuple[str, float], ...]:
        """Every second month's name, in its middle."""
        middles = [self.share(start + (end - start) / 2) for start, end in zip(self.starts, self.ends, strict=True)]
        return tuple(zip(self.names, middles, strict=True))[::2]

    def month_of(self, at: datetime) -> int:
        """Which of the months a time falls into; what was before the first counts to it."""
        return max(0, sum(1 for start in self.starts if start <= at) - 1)


def twelve_months(site: Site, now: datetime) -> MonthScale:
    """The twelve months that end with this one, up to its end."""
    starts = month_starts(site, now, 12)
    end = day_start(site, following_month(starts[-1].date()))
    return MonthScale(starts=tuple(starts), end=end, names=tuple(month_label(site, start.month) for start in starts))


@dataclass(frozen=True, slots=True, kw_only=True)
class HourScale:
    """Hours on a logarithmic scale, for spans from minutes to months."""

    least_h: float
    most_h: float

    def share(self, hours: float) -> float:
        """Where so many hours stand."""
        bounded = min(max(hours, self.least_h), self.most_h)
        return math.log(bounded / self.least_h) / math.log(self.most_h / self.least_h)

    def levels(self, say: Callable[[float], str]) -> tuple[tuple[str, float], ...]:
        """Labelled levels, at most five of them; `say` puts hours into words."""
        inside = [hours for hours in HOUR_STEPS if self.least_h <= hours <= self.most_h]
        return tuple((say(hours), self.share(hours)) for hours in inside[:: math.ceil(len(inside) / MOST_LEVELS)])


def hour_scale(hours: Sequence[float]) -> HourScale:
    """From the step below the least to the step above the most; two steps at least."""
    steps = HOUR_STEPS
    least, most = min(hours, default=1.0), max(hours, default=24.0)
    below = max((number for number, step_h in enumerate(steps) if step_h <= least), default=0)
    above = min((number for number, step_h in enumerate(steps) if step_h >= most), default=len(steps) - 1)
    below = min(below, len(steps) - 2)  # all beyond the last step: the last two still make a scale
    return HourScale(least_h=steps[below], most_h=steps[max(above, below + 1)])


def round_top(most: float) -> float:
    """A round figure at or above the most."""
    if most <= 0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(most))
    # The last step is 10 for figures whose logarithm was rounded down; a hair of tolerance keeps 0.3 at 0.3.
    return next(step * power for step in (1, 1.5, 2, 3, 4, 5, 6, 8, 10) if step * power >= most - 1e-9)


def amount_levels(top: float, unit: str) -> tuple[tuple[str, float], ...]:
    """Zero, the middle and the top, which says the unit."""
    return (("0", 0.0), (f"{top / 2:g}", 0.5), (f"{top:g} {unit}".strip(), 1.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A quarter lies below `low`, a quarter above `high`."""

    low: float
    middle: float
    high: float


def spread(values: Sequence[float]) -> Spread | None:
    """The middle and the middle half; None of nothing."""
    if not values:
        return None
    if len(values) == 1:
        return Spread(low=values[0], middle=values[0], high=values[0])
    low, middle, high = quantiles(values, n=4, method="inclusive")
    return Spread(low=low, middle=middle, high=high)
