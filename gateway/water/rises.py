"""How a tank came up again after it ran dry, or after all below it was full → fills that show what came in meanwhile.

A tank without a high float shows no fill; but from dry taps to its low float it rose by what stands below that, and the tank above goes up once
the one below is full. When the water came back is not told: every part of the time since the taps ran dry may have gone by before.
"""

import math
from collections.abc import Sequence
from datetime import datetime, timedelta, tzinfo

from gateway.water.demand import day_shares
from gateway.water.flow_belief import Fill, fill_days
from gateway.water.learnt import Learnt

MENDED_H, MENDED_SD = 8.0, 1.2
"""From dry taps until the water comes again, log-normal: somebody goes the same day, or the next one (an assumption, wide on purpose)."""
PIPE_FILL_SD = 0.35
"""Of the log of a fill from above: how much stood there is not known."""
POINTS = 12
"""Parts of the time since the taps ran dry, each by its middle."""


def rises_since_dry(
    litres: float, above_l: float, dry_at: datetime, over_at: datetime, zone: tzinfo
) -> list[tuple[float, Fill]]:
    """What it may have been, with how likely the water came back just then, in proportion."""
    after = [(over_at - dry_at) * ((point + 0.5) / POINTS) for point in range(POINTS)]
    return [(_mended_after(lasted), fill_between(litres, above_l, dry_at + lasted, over_at, zone)) for lasted in after]


def fill_between(litres: float, above_l: float, since: datetime, until: datetime, zone: tzinfo) -> Fill:
    """So many litres came together in that time."""
    return Fill(
        litres=litres,
        days=(until - since) / timedelta(days=1),
        used_days=day_shares(since, until, zone),
        above_l=above_l,
    )


def _mended_after(lasted: timedelta) -> float:
    off = math.log(lasted / timedelta(hours=MENDED_H)) / MENDED_SD
    return math.exp(-0.5 * off**2) / (lasted / timedelta(days=1))


def pipe_likely(fills: Sequence[tuple[float, Fill]], times: float, learnt: Learnt) -> float:
    """How well a pipe that passes so many times what the source gives explains a fill from above, be it the one or the other."""
    return sum(
        weight / fill.days * math.exp(-0.5 * (_fill_off(fill, times, learnt) / PIPE_FILL_SD) ** 2)
        for weight, fill in fills
    )


def _fill_off(fill: Fill, times: float, learnt: Learnt) -> float:
    source = learnt.source_l_day
    use = learnt.use_l_day * fill.used_days / fill.days
    return math.log(fill_days(fill.litres, source, times * source, use, fill.above_l) / fill.days)
