"""How fast a tank filled, episode by episode → whether the supply delivers less than it did.

Each fill from the low float to the high one shows litres a day on top of what was used meanwhile; together that is what was delivered.
The median of the last episodes against that of the first ones: a quarter less, and it is said once, with figures.
"""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from gateway.water.inflow import MINUTES_A_DAY

FEWEST = 8
"""Episodes needed before anything is said."""
COMPARED = 4
WEAKER = 0.75
WELL_AGAIN = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivered:
    """Litres a minute, the median of the first and of the last episodes."""

    first_l_min: float
    last_l_min: float

    @property
    def weaker(self) -> bool:
        """Whether it delivers clearly less."""
        return self.last_l_min < WEAKER * self.first_l_min

    @property
    def well(self) -> bool:
        """Whether it delivers about what it did."""
        return self.last_l_min >= WELL_AGAIN * self.first_l_min


def delivered(fills: Sequence[float], use_l_day: float) -> Delivered | None:
    """From logs of net litres a day, oldest first; None with too few episodes."""
    if len(fills) < FEWEST:
        return None
    flows = [(math.exp(fill) + use_l_day) / MINUTES_A_DAY for fill in fills]
    return Delivered(first_l_min=statistics.median(flows[:COMPARED]), last_l_min=statistics.median(flows[-COMPARED:]))
