"""Litres that went between two switches → how many times the household's figure that is.

By the hours of the day, as a household draws; and around the clock, as a leak or a hose runs: at night the two differ tenfold.
"""

import math
from dataclasses import dataclass
from datetime import datetime, tzinfo

from gateway.water.dry_time import figure_drawn


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """Multiples of the figure for use, above 0."""

    by_hours: float
    by_clock: float

    @property
    def log_by_hours(self) -> float:
        """Natural logarithm."""
        return math.log(self.by_hours)

    @property
    def log_by_clock(self) -> float:
        """Natural logarithm."""
        return math.log(self.by_clock)


def rate_of(litres: float, use: float, since: datetime, until: datetime, zone: tzinfo) -> Rate | None:
    """`use`: litres a day. None where no time passed, nothing is used or nothing went."""
    if until <= since or use <= 0 or litres <= 0:
        return None
    drawn = figure_drawn(use, since, until, zone)
    return Rate(by_hours=litres / drawn.by_hours, by_clock=litres / drawn.by_clock)
