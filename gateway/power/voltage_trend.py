"""Voltages over days → how they move, and the day they reach the low limit.

Of each day only the lowest believable voltage counts (the panel lifts the others); the slope is the middle one of all pairs (Theil,
Sen), so that one odd reading moves little. Fewer than four days tell nothing; what is further off than two months is not said.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import combinations
from statistics import median

from gateway.facts import Figure
from gateway.power.low_battery import believable, low_limit, nominal_v
from gateway.settings.controller_tables import Power

LOOK_BACK_DAYS = 14
DAYS_NEEDED = 4
FALLS_V_A_DAY_PER_12V = 0.01
FURTHEST_DAYS = 60
DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class BatteryTrend:
    """`slope` in V a day; `low_on`: when it reaches the low limit (now, if it is there), None where it does not fall towards it."""

    slope: Figure
    low_on: datetime | None


def battery_trend(
    readings: Sequence[tuple[datetime, float]], power: Power | None, now: datetime
) -> BatteryTrend | None:
    """The trend of the last two weeks, or None where too little is known."""
    recent = [(at, volts) for at, volts in readings if now - LOOK_BACK_DAYS * DAY <= at <= now]
    nominal = nominal_v(power, [volts for _, volts in recent])
    if nominal is None:
        return None
    lowest = _lowest_a_day([reading for reading in recent if believable(reading[1], nominal)], now)
    if len(lowest) < DAYS_NEEDED:
        return None
    points = [((at - now) / DAY, volts) for at, volts in lowest]
    slope = median((b[1] - a[1]) / (b[0] - a[0]) for a, b in combinations(points, 2) if b[0] != a[0])
    level = median(volts - slope * days for days, volts in points)
    limit = low_limit(power)
    return BatteryTrend(
        slope=Figure(
            value=round(slope, 4),
            unit="V/day",
            inputs={"days": len(points), "volts_now": round(level, 3), "low_volts": limit},
            source="median slope of the lowest voltage of each day (Theil, Sen)",
        ),
        low_on=_low_on(slope, level, limit, nominal, now),
    )


def _lowest_a_day(readings: Sequence[tuple[datetime, float]], now: datetime) -> list[tuple[datetime, float]]:
    lowest: dict[int, tuple[datetime, float]] = {}
    for at, volts in readings:
        day = (now - at) // DAY
        if day not in lowest or volts < lowest[day][1]:
            lowest[day] = (at, volts)
    return sorted(lowest.values())


def _low_on(slope: float, level: float, limit: float, nominal: float, now: datetime) -> datetime | None:
    if level <= limit:
        return now
    if slope > -FALLS_V_A_DAY_PER_12V * nominal / 12:
        return None
    days = (limit - level) / slope
    return now + days * DAY if days <= FURTHEST_DAYS else None
