"""A tank's shape and a level → litres, and back.

Shapes as in the contract; levels in metres above the outlet, volumes in litres. Source: plane and solid geometry; checked against
the published table (package fluids 1.3.1, TANK) and worked examples.
"""

import math
from itertools import pairwise

from gateway.settings import water_tables as m
from gateway.water.bisection import reached

LITRES_PER_M3 = 1000.0
CLOSE_M = 1e-9


def height_m(shape: m.Shape) -> float:
    """The highest level the shape knows."""
    if isinstance(shape, m.LyingCylinder):
        return shape.diameter_m
    if isinstance(shape, m.VolumeTable):
        return shape.points[-1][0]
    return shape.height_m


def capacity_l(shape: m.Shape) -> float:
    """Litres when full."""
    return below_l(shape, height_m(shape))


def below_l(shape: m.Shape, level_m: float) -> float:
    """Litres between the outlet and the level (clipped to the tank)."""
    level = min(max(level_m, 0.0), height_m(shape))
    match shape:
        case m.UprightCylinder():
            return math.pi * (shape.diameter_m / 2) ** 2 * level * LITRES_PER_M3
        case m.LyingCylinder():
            return _segment_m2(shape.diameter_m / 2, level) * shape.length_m * LITRES_PER_M3
        case m.Box():
            return shape.length_m * shape.width_m * level * LITRES_PER_M3
        case m.Tapered():
            return _frustum_m3(shape, level) * LITRES_PER_M3
        case m.Litres():
            return shape.litres * level / shape.height_m
        case m.VolumeTable():
            return _interpolated(shape.points, level)


def level_m(shape: m.Shape, litres: float) -> float:
    """The level at which the tank holds so many litres."""
    return reached(lambda level: below_l(shape, level), litres, 0.0, height_m(shape), CLOSE_M)


def _segment_m2(radius: float, depth: float) -> float:
    """Area of a circle's segment of that depth."""
    if depth >= 2 * radius:
        return math.pi * radius**2
    return radius**2 * math.acos((radius - depth) / radius) - (radius - depth) * math.sqrt(
        2 * radius * depth - depth**2
    )


def _frustum_m3(shape: m.Tapered, level: float) -> float:
    bottom, top = shape.bottom_diameter_m / 2, shape.top_diameter_m / 2
    here = bottom + (top - bottom) * level / shape.height_m
    return math.pi * level / 3 * (bottom**2 + bottom * here + here**2)


def _interpolated(points: tuple[tuple[float, float], ...], level: float) -> float:
    if level <= points[0][0]:
        return points[0][1] * (level / points[0][0]) if points[0][0] > 0 else points[0][1]
    for (level_a, litres_a), (level_b, litres_b) in pairwise(points):
        if level <= level_b:
            return litres_a + (litres_b - litres_a) * (level - level_a) / (level_b - level_a)
    return points[-1][1]


def two_digits(litres: float) -> float:
    """To be shown: more would say that it is known better than a float or a gauge knows it."""
    return float(f"{litres:.2g}") if litres >= 10 else round(litres)
