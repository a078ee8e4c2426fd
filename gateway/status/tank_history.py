"""A tank's episodes and events of a year → how often it ran low, for how long, how fast it filled, and whether that got worse.

Figures with the times at which they were seen; the page draws them, and says what the comparison comes to.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import median
from typing import Literal

from gateway.facts import Event
from gateway.settings.water_tables import Tank
from gateway.status.episodes import Episode
from gateway.water.float_levels import float_litres
from gateway.water.inflow import MINUTES_A_DAY

HOUR = timedelta(hours=1)
COMPARED = 5
"""The last so many are held against those before; with fewer than twice as many nothing is said of more or less."""

Change = Literal["less", "more", "alike"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A figure and when it was seen: hours, or litres a minute."""

    at: datetime
    value: float


def hours_between_lows(lows: Sequence[Episode], since: datetime) -> list[Measured]:
    """From the end of one low spell to the beginning of the next, by when that began."""
    return [
        Measured(at=after.began, value=(after.began - before.ended) / HOUR)
        for before, after in pairwise(lows)
        if before.ended is not None and after.began > before.ended and after.began >= since
    ]


def hours_low(lows: Sequence[Episode], since: datetime, now: datetime) -> list[Measured]:
    """How long each low spell lasted, one that is not over up to now."""
    return [Measured(at=low.began, value=low.lasted(now) / HOUR) for low in lows if low.began >= since]


def refill_hours(tank: Tank, events: Sequence[Event], since: datetime) -> list[Measured]:
    """Hours from leaving the low float to reaching the high one, by when that was; each fill once."""
    left_low_at: datetime | None = None
    refills = []
    for event in events:
        if event.tank != tank.id:
            continue
        if event.kind == "low-over" and not event.detail.get("first"):
            left_low_at = event.at
        elif event.kind == "low":
            left_low_at = None
        elif event.kind == "high" and left_low_at is not None:
            if event.at > left_low_at and event.at >= since:
                refills.append(Measured(at=event.at, value=(event.at - left_low_at) / HOUR))
            left_low_at = None  # a high float that bounces is not a second fill
    return refills


def delivered_flows(tank: Tank, refills: Sequence[Measured], use_l_day: float) -> list[Measured]:
    """Litres a minute that came in during each fill: what stands between the floats, and what was used meanwhile."""
    low, high = float_litres(tank, "low"), float_litres(tank, "high")
    if low is None or high is None or high <= low:
        return []
    return [
        Measured(at=refill.at, value=((high - low) / (refill.value / 24) + use_l_day) / MINUTES_A_DAY)
        for refill in refills
    ]


def change_of(figures: Sequence[Measured], *, ratio: float) -> Change:
    """The last few against all before: more or less only where their middles differ by that ratio."""
    if len(figures) < 2 * COMPARED:
        return "alike"
    now = median(figure.value for figure in figures[-COMPARED:])
    before = median(figure.value for figure in figures[:-COMPARED])
    if now < before / ratio:
        return "less"
    return "more" if now > before * ratio else "alike"
