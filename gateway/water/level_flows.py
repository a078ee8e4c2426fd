"""Litres that a gauge read, one after the other → what flows in and out by the hour of the day, and how surely that is known.

Between two readings only the sum is seen: what comes in less what is drawn. By local hour that sum has a usual course; how the last day
differed from it (a spring that stopped, guests, a leak) is one more figure, believed the more the longer it was seen: normal with known
noise is conjugate. Before anything was seen the house draws by its hours and as much comes in as goes out.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from itertools import pairwise

from gateway.water.demand import HOURLY, HOURS_A_DAY

Level = tuple[datetime, float]
"""When it was read, litres; oldest first."""

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
LONGEST_GAP = timedelta(hours=36)
"""Readings further apart say nothing of hours."""
STRETCHES_H = (6.0, 6.0, 12.0, 24.0)
"""Hours that are held against each other, from the newest backwards; the last length goes on."""
PRIOR_HOURS = 2.0
"""The house's own pattern counts as much as so many hours that were seen."""
LEAST_NOISE_SHARE = 0.3
"""Of the mean hour's use: an hour differs from the same hour of another day by at least so much."""
OFFSET_SHARE = 4.0
"""How far a day may be off its usual course, as a share of the mean hour's use, before any of it was seen."""
DAY_SHARE = 0.27
"""A day differs from a day by a quarter of the use, all its hours together; a little more where the household's own figure is too low."""
APART_SD = 1.3
"""A day further than so many standard deviations from those after it belongs to another time: before the spring stopped."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelFlows:
    """`net`: litres an hour by local hour, as it usually goes; `offset`: how far the last day is off it, `offset_sd` how surely; `noise`: of
    one hour, `day_noise`: of a whole day. `draw`, `inflow`: litres a day that were seen to go and to come; `hours`: how long was looked at.
    """

    net: tuple[float, ...]
    offset: float
    offset_sd: float
    noise: float
    day_noise: float
    draw_l_day: float
    inflow_l_day: float
    hours: float

    def expected(self, start: datetime, end: datetime, zone: tzinfo) -> float:
        """Litres more (or less) from `start` to `end`."""
        return sum((self.net[hour] + self.offset) * share for hour, share in hours_between(start, end, zone))

    def sd(self, hours: float) -> float:
        """Standard deviation of that over so many hours."""
        hours = max(hours, 0.0)
        of_days = self.day_noise * math.sqrt(hours / HOURS_A_DAY)
        return math.hypot(self.offset_sd * hours, self.noise * math.sqrt(hours), of_days)


def level_flows(levels: Sequence[Level], use_l_day: float, zone: tzinfo) -> LevelFlows:
    """`use_l_day`: the household's own figure."""
    mean_use = use_l_day / HOURS_A_DAY
    litres, seen = [0.0] * HOURS_A_DAY, [0.0] * HOURS_A_DAY
    gone = come = hours = 0.0
    for since, until, moved in _steps(levels):
        lasted = (until - since) / HOUR
        hours, gone, come = hours + lasted, gone + max(-moved, 0.0), come + max(moved, 0.0)
        for hour, share in hours_between(since, until, zone):
            litres[hour] += moved * share / lasted
            seen[hour] += share
    average = (come - gone) / hours if hours else 0.0
    usual = [average - mean_use * (share - 1.0) for share in HOURLY]
    net = tuple((litres[hour] + PRIOR_HOURS * usual[hour]) / (seen[hour] + PRIOR_HOURS) for hour in range(HOURS_A_DAY))
    noise = max(_noise(levels, net, zone), LEAST_NOISE_SHARE * mean_use, 1e-3)
    day_noise = max(DAY_SHARE * max(use_l_day, gone / hours * HOURS_A_DAY if hours else 0.0), 1e-3)
    prior_sd = max(OFFSET_SHARE * mean_use, abs(average), 1e-3)
    offset, offset_sd = _offset(levels, net, noise, day_noise, prior_sd, zone)
    days = max(hours / HOURS_A_DAY, 1e-9)
    return LevelFlows(
        net=net,
        offset=offset,
        offset_sd=offset_sd,
        noise=noise,
        day_noise=day_noise,
        draw_l_day=gone / days if hours else 0.0,
        inflow_l_day=come / days if hours else 0.0,
        hours=hours,
    )


def hours_between(start: datetime, end: datetime, zone: tzinfo) -> Iterator[tuple[int, float]]:
    """(local hour, how much of it) from `start` to `end`."""
    at = start
    while at < end:
        local = at.astimezone(zone)
        left_s = 3600 - (local.minute * 60 + local.second + local.microsecond / 1e6)
        until = min(end, at + timedelta(seconds=max(left_s, 1e-3)))
        yield local.hour, (until - at) / HOUR
        at = until


def _steps(levels: Sequence[Level]) -> Iterator[tuple[datetime, datetime, float]]:
    for (since, before), (until, after) in pairwise(levels):
        if timedelta(0) < until - since <= LONGEST_GAP:
            yield since, until, after - before


def _course(net: Sequence[float], since: datetime, until: datetime, zone: tzinfo) -> float:
    return sum(net[hour] * share for hour, share in hours_between(since, until, zone))


def _noise(levels: Sequence[Level], net: Sequence[float], zone: tzinfo) -> float:
    """Of one hour about its usual course: the root of the mean square, an hour's worth."""
    squares = [
        (moved - _course(net, since, until, zone)) ** 2 / max((until - since) / HOUR, 1e-6)
        for since, until, moved in _steps(levels)
    ]
    return math.sqrt(sum(squares) / len(squares)) if squares else 0.0


def _offset(
    levels: Sequence[Level], net: Sequence[float], noise: float, day_noise: float, prior_sd: float, zone: tzinfo
) -> tuple[float, float]:
    """How far the last days are off the usual course, litres an hour, and the standard deviation of that; as many as go alike."""
    days = list(_days_back(levels, net, zone))
    if not days:
        return 0.0, prior_sd
    alike_moved, alike_hours = days[0]
    for moved, hours in days[1:]:
        apart = abs(moved / hours - alike_moved / alike_hours)
        if apart > APART_SD * math.hypot(_rate_sd(noise, day_noise, hours), _rate_sd(noise, day_noise, alike_hours)):
            break
        alike_moved, alike_hours = alike_moved + moved, alike_hours + hours
    precision = 1 / _rate_sd(noise, day_noise, alike_hours) ** 2
    offset = alike_moved / alike_hours * precision / (precision + 1 / prior_sd**2)
    return offset, math.sqrt(1 / (precision + 1 / prior_sd**2))


def _rate_sd(noise: float, day_noise: float, hours: float) -> float:
    """Of the mean hour over so many hours: hours by themselves, and the days that they belong to."""
    return math.hypot(noise / math.sqrt(hours), day_noise / HOURS_A_DAY / math.sqrt(max(hours / HOURS_A_DAY, 1.0)))


def _days_back(levels: Sequence[Level], net: Sequence[float], zone: tzinfo) -> Iterator[tuple[float, float]]:
    """(litres off the usual course, hours) of each stretch, the newest first: short ones at first, so that what changed today is seen today."""
    off = hours = 0.0
    lengths = iter(STRETCHES_H)
    length = next(lengths)
    for since, until, moved in reversed(list(_steps(levels))):
        off, hours = off + moved - _course(net, since, until, zone), hours + (until - since) / HOUR
        if hours >= length:
            yield off, hours
            off = hours = 0.0
            length = next(lengths, length)
    if hours >= 1.0:
        yield off, hours
