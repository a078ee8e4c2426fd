"""Where something that only grows comes to a value: interpolate, truncate, project.

As few looks as a secant needs where it is smooth, and never more than one beyond bisection. Source: Oliveira and Takahashi, "An
Enhancement of the Bisection Method Average Performance Preserving Minmax Optimality", ACM TOMS 47(1), 2020, from memory.
"""

import math
from collections.abc import Callable

TRUNCATION = 0.2
"""Of the interval's share by which a step is held towards the middle (kappa 1 times the first width; kappa 2 is 2)."""
SLACK = 1


def reached(grows: Callable[[float], float], wanted: float, low: float, high: float, close: float) -> float:
    """The place between `low` and `high`, within `close`; the nearer end where it is not in between."""
    below, above = grows(low) - wanted, grows(high) - wanted
    if below >= 0:
        return low
    if above < 0:
        return high
    width = high - low
    reach = close * 2 ** (max(0, math.ceil(math.log2(width / close / 2))) + SLACK)
    while high - low > 2 * close:
        middle, half = (low + high) / 2, (high - low) / 2
        straight = (above * low - below * high) / (above - below)
        side = math.copysign(1.0, middle - straight)
        held = min(TRUNCATION / width * (high - low) ** 2, abs(middle - straight))
        nearer = straight + side * held
        at = nearer if abs(nearer - middle) <= reach - half else middle - side * (reach - half)
        value = grows(at) - wanted
        if value >= 0:
            high, above = at, value
        else:
            low, below = at, value
        reach /= 2
    return (low + high) / 2
