"""How much is drawn, as a belief: the household's own figure times a log-normal factor with heavy tails, learnt from what was seen.

Days differ, guests come, a house stands empty: what is drawn in one episode is the household's usual use, or, less often, something quite
different. Both are kept side by side (a mixture of two normals in the logarithm, so that a shift costs little and is found by what it does).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from gateway.water.bisection import reached

PRIOR_SD = 0.35
"""Of log(true use / the household's figure): a figure is off by a third (common practice)."""
FAR_OFF, FAR_OFF_SD = 0.2, 0.8
"""One figure in five is off by two and more (an assumption, wide on purpose)."""
DAY_SD = 0.28
"""Of the log of one day's use: 0.28 to 0.45 by household size (household_use.csv, an end-use model, a lower bound)."""
DRIFT_SD = 0.10
"""From one episode to the next, ordinarily: seasons and heads change by a tenth or so (common practice)."""
SHIFTED, SHIFT_SD = 0.15, 0.60
"""One episode in seven has guests or an empty house: twice or half (a drift of 0.6 in the log of use, as measured on supplies with guests)."""
COUNTED = 0.8
"""Counted in full, intervals that say 80 % held 86 % of households with published days, and the loss was no less: floats' levels, odd days and
a shifted use are counted besides."""
HOURS_SD = 0.35
"""Within a part of a day: this household's hours are not the published ones (household_hours.csv: peaks differ twofold)."""
LEVEL_SD = 0.06
"""A float switches within some centimetres of its level (published differentials 20-50 mm), over what lies between two of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """One normal of a mixture: its weight, mean and standard deviation, of log(use / figure)."""

    weight: float
    mean: float
    sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class UseBelief:
    """What is known of the household's usual use;"""

    usual: tuple[Component, ...] = (
        Component(weight=1 - FAR_OFF, mean=0.0, sd=PRIOR_SD),
        Component(weight=FAR_OFF, mean=0.0, sd=FAR_OFF_SD),
    )
    scatter: float = 1.0
    """How this household's days and hours differ, over what is published; `scatter_cases`: how many cases that is worth."""
    scatter_cases: float = 4.0

    @property
    def mean(self) -> float:
        """Expected log(use / figure)."""
        return sum(part.weight * part.mean for part in self.usual)

    @property
    def sd(self) -> float:
        """Standard deviation of the whole mixture."""
        mean = self.mean
        return math.sqrt(sum(part.weight * (part.sd**2 + (part.mean - mean) ** 2) for part in self.usual))

    def of_a_day(self, quantile: float) -> float:
        """Log(use / figure) of one ordinary day that is not exceeded with that probability."""
        of_days = [(part, math.hypot(part.sd, DRIFT_SD, self.scatter * DAY_SD)) for part in self.usual]

        def below(log: float) -> float:
            return sum(
                part.weight * 0.5 * (1 + math.erf((log - part.mean) / sd / math.sqrt(2))) for part, sd in of_days
            )

        return reached(below, quantile, -5.0, 5.0, 1e-4)

    def in_an_episode(self) -> list[Component]:
        """What may be drawn in one episode: as usual, or quite differently."""
        parts = []
        for part in self.usual:
            usual = part.weight * (1 - SHIFTED)
            parts.append(Component(weight=usual, mean=part.mean, sd=math.hypot(part.sd, DRIFT_SD)))
            parts.append(
                Component(weight=part.weight * SHIFTED, mean=part.mean, sd=math.hypot(part.sd, DRIFT_SD, SHIFT_SD))
            )
        return parts


def noise_sd(days: float, scatter: float) -> float:
    """Of the log of what is drawn in so many days' worth of use."""
    of_days = DAY_SD**2 / max(days, 1.0) + HOURS_SD**2 / (1 + 8 * days)
    return math.sqrt(LEVEL_SD**2 + (COUNTED * scatter) ** 2 * of_days)


def observe(parts: Sequence[Component], ratio: float, sd: float) -> tuple[float, list[Component]]:
    """A log-ratio seen with that noise → how likely it was, and the mixture after it (each normal by its conjugate update)."""
    moved, total = [], 0.0
    for part in parts:
        spread = math.hypot(part.sd, sd)
        likely = part.weight * math.exp(-0.5 * ((ratio - part.mean) / spread) ** 2) / (spread * math.sqrt(2 * math.pi))
        gain = part.sd**2 / spread**2
        moved.append(
            Component(weight=likely, mean=part.mean + gain * (ratio - part.mean), sd=part.sd * math.sqrt(1 - gain))
        )
        total += likely
    if total <= 0:
        return 0.0, list(parts)
    return total, [Component(weight=part.weight / total, mean=part.mean, sd=part.sd) for part in moved]


def mixture_of(moved: Sequence[Sequence[Component]], before: Sequence[Component]) -> tuple[Component, ...]:
    """What each part of a belief became, several normals, as one of their mean and variance; `before` where nothing fits."""
    after = [_matched(of_part, part) for of_part, part in zip(moved, before, strict=True)]
    total = sum(part.weight for part in after)
    return tuple(replace(part, weight=part.weight / total) for part in after) if total > 0 else tuple(before)


def _matched(moved: Sequence[Component], before: Component) -> Component:
    total = sum(part.weight for part in moved)
    if total <= 0:
        return replace(before, weight=0.0)
    mean = sum(part.weight * part.mean for part in moved) / total
    variance = sum(part.weight * (part.sd**2 + (part.mean - mean) ** 2) for part in moved) / total
    return Component(weight=total, mean=mean, sd=math.sqrt(variance))
