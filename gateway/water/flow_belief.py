"""What the source gives and what a pipe passes, as beliefs learnt from fills: how long a tank took from its low float to its high one.

While nothing stands above, a tank fills by what the source gives less what is used; while water stands above, by what the pipe passes,
until that is empty.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from gateway.water.use_belief import Component, mixture_of, observe

FLOW_SD = 0.2
"""Of the log of a source's true flow over its figure: a sixth to a fifth (common practice)."""
FLOW_FAR_OFF, FLOW_FAR_OFF_SD = 0.2, 0.8
"""One figure in five is off by two and more (an assumption, wide on purpose)."""
UNKNOWN_TIMES, UNKNOWN_SD = 2.3, 0.5
"""With no figure: it gives about twice the use, or it would never have been full."""
FLOW_DRIFT_SD = 0.06
"""From one fill to the next: a spring follows the seasons by a fifth."""
LEAST_NET = 0.1
"""Of what the source gives: where it gives hardly more than is used, a tank that fills at all fills by so much."""
FALL_TIMES = 2.0
"""A tank that falls so slowly that half of the use comes in, at least, has no cut above it and no leak: the source gives less than is used."""
NODES: tuple[tuple[float, float], ...] = ((-1.7321, 1 / 6), (0.0, 2 / 3), (1.7321, 1 / 6))
"""Three-point Gauss-Hermite quadrature of a normal: (standard deviations, weight). Abramowitz and Stegun 25.4.46."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """One fill that was seen, or a fall (litres below 0), in so many days, `used_days` worth of use; `above_l`: what stood above then."""

    litres: float
    days: float
    used_days: float
    above_l: float


def flow_prior(configured: bool) -> tuple[Component, ...]:
    """Of log(source / its figure)."""
    if not configured:
        return (Component(weight=1.0, mean=0.0, sd=UNKNOWN_SD),)
    return (
        Component(weight=1 - FLOW_FAR_OFF, mean=0.0, sd=FLOW_SD),
        Component(weight=FLOW_FAR_OFF, mean=0.0, sd=FLOW_FAR_OFF_SD),
    )


def mean_of(parts: Sequence[Component]) -> float:
    """Expected logarithm."""
    return sum(part.weight * part.mean for part in parts)


def came_by(fill: Fill, use_l_day: float) -> tuple[float, float]:
    """Litres a day that the source gave meanwhile (negative: it cannot be), and the standard deviation of their logarithm."""
    came = (fill.litres + use_l_day * fill.used_days) / fill.days
    use_share = min(use_l_day / came, FALL_TIMES) if came > 0 else FALL_TIMES
    return came, math.hypot(0.05, 0.3 * use_share / math.sqrt(max(fill.used_days, 0.5)))


def source_seen(
    parts: Sequence[Component], fills: Sequence[tuple[float, Fill]], figure_l_day: float, use_l_day: float
) -> tuple[Component, ...]:
    """The belief after a fill from the source alone, of which it is known how likely it was one or another: moments matched."""
    drifted = [Component(weight=part.weight, mean=part.mean, sd=math.hypot(part.sd, FLOW_DRIFT_SD)) for part in parts]
    moved: list[list[Component]] = [[] for _ in parts]
    for weight, fill in fills:
        came, sd = came_by(fill, use_l_day)
        likely, after = observe(drifted, math.log(came / figure_l_day), sd)
        # a time is seen, not a flow: per log of the flow it is as likely as the flow moves the time
        density = weight * likely * fill.litres / (came * fill.days**2)
        for number, part in enumerate(after):
            moved[number].append(replace(part, weight=density * part.weight))
    return mixture_of(moved, drifted)


def fill_days(litres: float, source: float, pipe: float, use: float, above_l: float) -> float:
    """Days until so many litres have come together: by the pipe while water stands above, then by the source; all litres a day."""
    net = max(source - use, LEAST_NET * source)
    if above_l <= 0 or pipe <= source:
        return litres / net
    fast = max(pipe - use, net)
    until = above_l / (pipe - source)
    return litres / fast if litres <= fast * until else until + (litres - fast * until) / net
