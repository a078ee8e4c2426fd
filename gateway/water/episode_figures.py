"""How long each low episode of a tank lasted → how often it runs low, and how long an episode lasts, each with how sure that is.

How often: episodes come at random, so their rate has a gamma belief; with no prior (flat in the logarithm) that is the interval of an
exponential time between episodes. Source: Gelman et al., BDA3 §2.6 (gamma and Poisson, with exposure), from memory. How long: the
product-limit estimate (Kaplan and Meier 1958), so that an episode that still lasts counts for as long as it has lasted and no more.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import groupby

from gateway.water.bisection import reached

DAYS_A_YEAR = 365.25
SURE = 0.8
TERMS = 500
CLOSE = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Gamma:
    """A belief about a rate: `shape` > 0, `rate` > 0 (exposure, in the unit the rate is per)."""

    shape: float
    rate: float

    @property
    def mean(self) -> float:
        """Expected rate."""
        return self.shape / self.rate

    @property
    def sd(self) -> float:
        """Standard deviation."""
        return math.sqrt(self.shape) / self.rate

    def seen(self, count: int, exposure: float) -> "Gamma":
        """After `count` cases in `exposure`."""
        return Gamma(shape=self.shape + count, rate=self.rate + exposure)

    def below(self, value: float) -> float:
        """Probability that the rate is below `value`."""
        return _lower_gamma(self.shape, self.rate * value) if value > 0 else 0.0

    def quantile(self, probability: float) -> float:
        """The rate with so much probability below it, 0 < probability < 1."""
        high = 1.0
        while _lower_gamma(self.shape, high) < probability:
            high *= 2
        return reached(lambda x: _lower_gamma(self.shape, x), probability, 0.0, high, CLOSE * high) / self.rate


@dataclass(frozen=True, slots=True, kw_only=True)
class EpisodeFigures:
    """`a_year`: (early, likely, late) episodes a year, an 80 % interval; `median_h` None until half of them are over."""

    count: int
    a_year: tuple[float, float, float]
    median_h: float | None


def exact_interval(count: int, sure: float) -> tuple[float, float]:
    """The exact (Garwood) interval of a Poisson mean."""
    outside = (1 - sure) / 2
    low = Gamma(shape=count, rate=1.0).quantile(outside) if count else 0.0
    return low, Gamma(shape=count + 1, rate=1.0).quantile(1 - outside)


def survival(lasted: Sequence[float], over: Sequence[bool]) -> tuple[tuple[float, float], ...]:
    """(time, share that lasts longer) at each end that was seen, by the product-limit estimate."""
    at_risk, share = len(lasted), 1.0
    steps: list[tuple[float, float]] = []
    for time, cases in groupby(sorted(zip(lasted, over, strict=True)), key=lambda case: case[0]):
        ended = [is_over for _, is_over in cases]
        if any(ended):
            share *= 1 - sum(ended) / at_risk
            steps.append((time, share))
        at_risk -= len(ended)
    return tuple(steps)


def median_lasting(steps: Sequence[tuple[float, float]]) -> float | None:
    """When half are over; None while that has not been seen."""
    return next((time for time, share in steps if share <= 0.5 + CLOSE), None)


def episode_figures(lasted: Sequence[timedelta], over: Sequence[bool], looked_at: timedelta) -> EpisodeFigures:
    """`lasted`: each episode's length so far; `over`: whether that was all; `looked_at`: how long the tank was watched, above 0."""
    years = looked_at / timedelta(days=DAYS_A_YEAR)
    low, high = exact_interval(len(lasted), SURE)
    median = median_lasting(survival([length / timedelta(hours=1) for length in lasted], over))
    return EpisodeFigures(count=len(lasted), a_year=(low / years, len(lasted) / years, high / years), median_h=median)


def _lower_gamma(shape: float, x: float) -> float:
    """The regularised lower incomplete gamma function: by its series, or its continued fraction (Abramowitz and Stegun 6.5.29, 6.5.31)."""
    if x <= 0:
        return 0.0
    scale = math.exp(shape * math.log(x) - x - math.lgamma(shape))
    return scale * _series(shape, x) if x < shape + 1 else 1 - scale * _fraction(shape, x)


def _series(shape: float, x: float) -> float:
    term = total = 1 / shape
    for n in range(1, TERMS):
        term *= x / (shape + n)
        total += term
        if term < total * CLOSE:
            break
    return total


def _fraction(shape: float, x: float) -> float:
    """Evaluated forwards (Lentz)."""
    b = x + 1 - shape
    c, d = 1e300, 1 / b
    value = d
    for n in range(1, TERMS):
        a = -n * (n - shape)
        b += 2
        d = 1 / (a * d + b)
        c = b + a / c
        value *= c * d
        if abs(c * d - 1) < CLOSE:
            break
    return value
