"""What a gauge reads → the water's height in the tank, or why there is none.

A current loop runs from 4 to 20 mA: value = lo + (hi - lo)(I - 4)/16. NAMUR NE 43: 3.8 to 20.5 mA is a reading, 3.6 mA and less or 21 mA and
more a fault of the gauge; between the two it is neither, and the last value holds.
"""

from collections.abc import Sequence
from typing import Literal

from gateway.settings.water_tables import Gauge, Shape
from gateway.water.volumes import capacity_l, height_m, level_m

NoHeight = Literal["signal", "held", "range"]
"""A fault of the signal; neither reading nor fault; a height that no tank of that size has."""

SIGNAL_MA = (3.8, 20.5)
FAULT_MA = (3.6, 21.0)
FULL_SCALE_MA = (4.0, 20.0)
BEYOND = 0.05
"""A gauge may be off by so much of the height and still be believed: zero is never quite at the outlet (common practice)."""

Points = Sequence[tuple[float, float]]


def height_of(gauge: Gauge, shape: Shape | None, reading: float) -> float | NoHeight:
    """Metres of water above the outlet; a little below 0 or above the brim as it was read."""
    if gauge.reads == "mA":
        if reading <= FAULT_MA[0] or reading >= FAULT_MA[1]:
            return "signal"
        if not SIGNAL_MA[0] <= reading <= SIGNAL_MA[1]:
            return "held"
    least, most = range_of(gauge, shape)
    points = points_of(gauge, shape)
    height = along(points, reading) if points else _plain_height(gauge, shape, reading)
    slack = BEYOND * (most - least) if most is not None else 0.0
    if height < least - slack or (most is not None and height > most + slack):
        return "range"
    return height


def range_of(gauge: Gauge, shape: Shape | None) -> tuple[float, float | None]:
    """The lowest and highest height that can be; None where nobody knows how high the tank is."""
    if shape is not None:
        return 0.0, height_m(shape)
    heights = [height for _, height in gauge.points]
    return (min(heights), max(heights)) if heights else (0.0, None)


def points_of(gauge: Gauge, shape: Shape | None) -> Points:
    """The calibration as it is written; without one, of percent and of a current, from empty to the tank's brim."""
    if gauge.points or shape is None:
        return gauge.points
    brim = height_m(shape)
    if gauge.reads == "percent":
        return ((0.0, 0.0), (100.0, brim))
    return ((FULL_SCALE_MA[0], 0.0), (FULL_SCALE_MA[1], brim)) if gauge.reads == "mA" else ()


def along(points: Points, reading: float) -> float:
    """Straight between two points; beyond the ends as between the last two."""
    inner = [place for place in range(1, len(points) - 1) if points[place][0] <= reading]
    at = inner[-1] if inner else 0
    (reading_a, height_a), (reading_b, height_b) = points[at], points[at + 1]
    return height_a + (height_b - height_a) * (reading - reading_a) / (reading_b - reading_a)


def _plain_height(gauge: Gauge, shape: Shape | None, reading: float) -> float:
    if gauge.reads != "litres" or shape is None:
        return reading / 100 if gauge.reads == "cm" else reading
    brim, full = height_m(shape), capacity_l(shape)
    if 0 <= reading <= full:
        return level_m(shape, reading)
    # below empty and above full no shape tells a height: by the share of the whole, so that it can be out of range
    return reading / full * brim
