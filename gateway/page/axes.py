"""Figures and times → where they stand on a chart: months along, levels up, the middle half of what was seen."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import quantiles

from gateway.page.days import MONTHS, day_start, following_month, months_back
from gateway.site import Site

LEAST_DRAWN = 3
"""Of what is drawn over twelve months, fewer make no chart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A quarter lies below `low`, a quarter above `high`."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """The months that a chart spans, by their starts, and its end."""

    starts: tuple[datetime, ...]
    end: datetime
    names: tuple[str, ...]

    def share(self, at: datetime) -> float:
        """Where a time stands, 0 to 1."""
        return min(1.0, max(0.0, (at - self.starts[0]) / (self.end - self.starts[0])))

    @property
    def marks(self) -> tuple[tuple[str, float], ...]:
        """Every second month's name, in its middle."""
        ends = (*self.starts[1:], self.end)
        middles = [self.share(start + (end - start) / 2) for start, end in zip(self.starts, ends, strict=True)]
        return tuple(
            (name, at) for number, (name, at) in enumerate(zip(self.names, middles, strict=True)) if number % 2 == 0
        )

    def month_of(self, at: datetime) -> int:
        """Which of the months a time falls into."""
        return max(0, sum(1 for start in self.starts if start <= at) - 1)


def lacking(known: str, drawn_from: str) -> str:
    """`Usually 3 h (1 seen); there is a chart from the third low episode on.`: what stands in its place."""
    return f"{known.rstrip('.')}; there is a chart from {drawn_from} on."


def spread(values: Sequence[float]) -> Spread | None:
    """The middle and the middle half; None of nothing."""
    if not values:
        return None
    if len(values) == 1:
        return Spread(low=values[0], middle=values[0], high=values[0])
    low, middle, high = quantiles(values, n=4, method="inclusive")
    return Spread(low=low, middle=middle, high=high)


def twelve_months(site: Site, now: datetime) -> Times:
    """The twelve months that end with this one, up to its end."""
    starts = months_back(site, now, 12)
    end = day_start(site, following_month(starts[-1].date()))
    return Times(starts=tuple(starts), end=end, names=tuple(MONTHS[one.month - 1] for one in starts))


@dataclass(frozen=True, slots=True, kw_only=True)
class LogAxis:
    """Hours on a logarithmic axis, for spans from minutes to months."""

    least_h: float
    most_h: float

    def share(self, hours: float) -> float:
        """Where so many hours stand."""
        bounded = min(max(hours, self.least_h), self.most_h)
        return math.log(bounded / self.least_h) / math.log(self.most_h / self.least_h)

    def levels(self) -> tuple[tuple[str, float], ...]:
        """Labelled levels, at most five of them."""
        inside = [(name, hours) for name, hours in STEPS if self.least_h <= hours <= self.most_h]
        every = math.ceil(len(inside) / 5)
        return tuple((name, self.share(hours)) for name, hours in inside[::every])


STEPS = (
    ("5 min", 1 / 12),
    ("20 min", 1 / 3),
    ("1 h", 1.0),
    ("3 h", 3.0),
    ("10 h", 10.0),
    ("1 day", 24.0),
    ("3 days", 72.0),
    ("10 days", 240.0),
    ("30 days", 720.0),
    ("90 days", 2160.0),
    ("1 year", 8760.0),
)


def log_axis(hours: Sequence[float]) -> LogAxis:
    """From the step below the least to the step above the most."""
    steps = [one for _, one in STEPS]
    low, high = min(hours, default=1.0), max(hours, default=24.0)
    first = max((n for n, one in enumerate(steps) if one <= low), default=0)
    last = min((n for n, one in enumerate(steps) if one >= high), default=len(steps) - 1)
    return LogAxis(least_h=steps[min(first, len(steps) - 2)], most_h=steps[max(last, min(first, len(steps) - 2) + 1)])


def nice_top(most: float) -> float:
    """A round figure at or above the most."""
    if most <= 0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(most))
    return next(step * power for step in (1, 1.5, 2, 3, 4, 5, 6, 8, 10) if step * power >= most - 1e-9)


def linear_levels(top: float, unit: str) -> tuple[tuple[str, float], ...]:
    """Zero, the middle and the top, which says the unit."""
    return (("0", 0.0), (f"{top / 2:g}", 0.5), (f"{top:g} {unit}".strip(), 1.0))
