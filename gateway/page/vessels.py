"""A tank's shape and floats → what is drawn of it, and the band of water that its floats or its forecast let one know."""

import math
from itertools import pairwise
from typing import Literal

from gateway.facts import Triple
from gateway.page import FloatView, VesselView
from gateway.settings import models as m
from gateway.status.snapshot import FloatSnapshot, TankSnapshot
from gateway.water.volumes import below_l, capacity_l, height_m, level_m

Band = tuple[float, float | None, float]


def vessel_of(shape: m.Shape | None) -> VesselView:
    """The outline in its real proportions; a plain vessel where no shape is known."""
    match shape:
        case None:
            return VesselView(kind="unknown")
        case m.UprightCylinder():
            return VesselView(kind=shape.kind, ratio=shape.diameter_m / shape.height_m)
        case m.LyingCylinder():
            return VesselView(kind=shape.kind, ratio=1.0)
        case m.Box():
            return VesselView(kind=shape.kind, ratio=max(shape.length_m, shape.width_m) / shape.height_m)
        case m.Tapered():
            widest = max(shape.bottom_diameter_m, shape.top_diameter_m)
            sides = ((0.0, shape.bottom_diameter_m / widest), (1.0, shape.top_diameter_m / widest))
            return VesselView(kind=shape.kind, ratio=widest / shape.height_m, sides=sides)
        case m.Litres():
            return VesselView(kind=shape.kind, ratio=_diameter(shape.litres, shape.height_m) / shape.height_m)
        case m.VolumeTable():
            return _by_table(shape)


def floats_of(seen: TankSnapshot) -> tuple[FloatView, ...]:
    """Every float whose level is known, with how it stands."""
    shape = seen.tank.shape
    if shape is None:
        return ()
    top = height_m(shape)
    return tuple(
        FloatView(
            means=one.placed.float.means,
            level=min(1.0, max(0.0, one.placed.float.level_m / top)),
            said=f"{one.placed.float.means} {one.placed.float.level_m:g} m",
            state={"active": "active", "idle": "idle"}.get(one.now.state, ""),
        )
        for one in seen.floats
        if one.placed.float.level_m is not None
    )


def water_of(seen: TankSnapshot, litres: Triple | None) -> Band | None:
    """Shares of the height that are surely, likely and at the most under water; by the floats alone where no forecast is."""
    shape = seen.tank.shape
    if shape is None:
        return None
    top = height_m(shape)
    if litres is not None:
        surely, likely, most = (min(1.0, level_m(shape, one) / top) for one in (litres.low, litres.likely, litres.high))
        return surely, likely, most
    low, high = _bounds(seen.floats, top)
    return None if low is None and high is None else (low or 0.0, None, 1.0 if high is None else high)


def litres_said(seen: TankSnapshot, litres: Triple | None) -> str:
    """`About 620 l (410 to 830) of 5655 l.`, no more digits than are known; by the floats alone: what it holds at the least or at the most."""
    shape = seen.tank.shape
    if shape is None:
        return ""
    whole = capacity_l(shape)
    if litres is not None:
        least, likely, most = (min(_rough(one), whole) for one in (litres.low, litres.likely, litres.high))
        between = f" ({least:.0f} to {most:.0f})" if least != most else ""
        return f"About {likely:.0f} l{between} of {whole:.0f} l."
    low, high = _bounds(seen.floats, height_m(shape))
    if low is None and high is None:
        return ""
    bottom, top = (whole if one is None else below_l(shape, one * height_m(shape)) for one in (low or 0.0, high))
    if high is None:
        return f"At least {bottom:.0f} l of {whole:.0f} l."
    return f"{'At the most' if low is None else f'From {bottom:.0f} l to'} {top:.0f} l of {whole:.0f} l."


def _bounds(floats: tuple[FloatSnapshot, ...], top: float) -> tuple[float | None, float | None]:
    """What the floats say: an idle low float or an active high one is under water, the others are above it."""
    least: list[float] = []
    most: list[float] = []
    for one in floats:
        level = one.placed.float.level_m
        if level is None or one.now.state == "unknown":
            continue
        under: Literal["idle", "active"] = "idle" if one.now.means == "low" else "active"
        (least if one.now.state == under else most).append(level / top)
    return max(least, default=None), min(most, default=None)


def _rough(litres: float) -> float:
    """Two digits of it."""
    return round(litres, 1 - math.floor(math.log10(litres))) if litres >= 10 else round(litres)


def _diameter(litres: float, height: float) -> float:
    """Of an upright round tank of that volume."""
    return 2 * math.sqrt(litres / 1000 / height / math.pi)


def _by_table(shape: m.VolumeTable) -> VesselView:
    """Half widths as a round tank with those volumes between its levels would have them."""
    points = shape.points if shape.points[0][0] <= 0 else ((0.0, 0.0), *shape.points)
    height = height_m(shape)
    steps = [
        (low / height, high / height, _diameter(max(litres_b - litres_a, 0.0), high - low))
        for (low, litres_a), (high, litres_b) in pairwise(points)
        if high > low
    ]
    widest = max((one for _, _, one in steps), default=0.0)
    if widest <= 0:
        return VesselView(kind=shape.kind)
    sides = tuple((level, wide / widest) for low, high, wide in steps for level in (low, high))
    return VesselView(kind=shape.kind, ratio=widest / height, sides=sides)
