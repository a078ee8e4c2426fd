"""What a gauge read lately → what is in the tank now, when it is dry or full: intervals that narrow as more was seen and as the end comes near.

The newest reading is carried forward hour by hour by what flows in and out at that hour (`level_flows`); a tenth and nine tenths are where it
would be with as much less or more. What is not reached within a month is not said.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from gateway.facts import Triple
from gateway.water.dry_time import Times
from gateway.water.level_flows import Level, LevelFlows, level_flows

TENTH = 1.2816
"""Of the normal distribution: so many standard deviations below the middle lies a tenth."""
READ_SHARE = 0.01
"""A gauge is right to a hundredth of what the tank holds (common practice)."""
LONGEST = timedelta(days=30)
LATEST = timedelta(days=120)
STALE = timedelta(days=2)
LEAST_HOURS = 6.0
"""Seen for less, the readings say how much there is, but not yet how fast it goes."""
STEP = timedelta(hours=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelOutlook:
    """Litres now, when dry or when full; `flows`: what it was worked out from."""

    litres: Triple
    dry_at: Times | None
    full_at: Times | None
    flows: LevelFlows


def level_outlook(
    levels: Sequence[Level], capacity: float, full: float, use_l_day: float, now: datetime, zone: tzinfo
) -> LevelOutlook | None:
    """`full`: litres at which it counts as full. None where nothing was read for days."""
    if not levels or now - levels[-1][0] > STALE:
        return None
    flows = level_flows(levels, use_l_day, zone)
    read_at, read_l = levels[-1]
    course = _Course(flows=flows, start=read_at, litres=read_l, sd=READ_SHARE * capacity, zone=zone)
    middle, spread = course.at(max(now, read_at))
    litres = Triple(
        low=_within(middle - TENTH * spread, capacity),
        likely=_within(middle, capacity),
        high=_within(middle + TENTH * spread, capacity),
    )
    if flows.hours < LEAST_HOURS:
        return LevelOutlook(litres=litres, dry_at=None, full_at=None, flows=flows)
    dry = course.times(lambda litres_then, sd, z: litres_then + z * sd <= 0.0, now)
    filled = course.times(lambda litres_then, sd, z: litres_then - z * sd >= full, now) if read_l < full else None
    if dry is not None and filled is not None:
        dry, filled = (dry, None) if dry[1] <= filled[1] else (None, filled)
    return LevelOutlook(litres=litres, dry_at=dry, full_at=filled, flows=flows)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Course:
    flows: LevelFlows
    start: datetime
    litres: float
    sd: float
    zone: tzinfo

    def at(self, when: datetime) -> tuple[float, float]:
        """Litres and their standard deviation at a time."""
        hours = (when - self.start) / timedelta(hours=1)
        expected = self.litres + self.flows.expected(self.start, when, self.zone)
        return expected, (self.sd**2 + self.flows.sd(hours) ** 2) ** 0.5

    def times(self, reached: Callable[[float, float, float], bool], now: datetime) -> Times | None:
        """When an end is reached at a tenth, the middle and nine tenths; None where its middle is not within a month, or it may never be."""
        ends: dict[float, datetime] = {}
        at, litres = self.start, self.litres
        while at < self.start + LATEST and len(ends) < 3:
            hour = at.astimezone(self.zone).hour
            at, litres = at + STEP, litres + self.flows.net[hour] + self.flows.offset
            hours = (at - self.start) / timedelta(hours=1)
            sd = (self.sd**2 + self.flows.sd(hours) ** 2) ** 0.5
            for z in (-TENTH, 0.0, TENTH):
                if z not in ends and reached(litres, sd, z):
                    ends[z] = max(now, at)
            if 0.0 not in ends and at - self.start > LONGEST:
                return None
        if len(ends) < 3:
            return None  # as likely as not it is never reached: a warm evening must not foretell a dry tank
        return ends[-TENTH], ends[0.0], ends[TENTH]


def _within(litres: float, capacity: float) -> float:
    return min(max(litres, 0.0), capacity)
