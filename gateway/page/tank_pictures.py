"""A tank's shape and floats → its picture: the outline in its real proportions, the floats, and the band of water that is known.

Two steps. What is drawn, in shares of the height (0 the bottom, 1 the top): `outline_of`, `float_marks`, `gauge_marks`, `water_band`,
`litres_words`. Where it stands in the SVG field: `draw_outline`, `place_labels`. The field is 220 by 132; the vessel stands in its
middle, its bottom at `BOTTOM`, the labels of its floats on its right. A tank far wider than high (or the reverse) is drawn as wide (high)
as the field allows, so that it can still be read.
"""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from gateway.facts import Triple
from gateway.settings import water_tables as m
from gateway.site import Site
from gateway.status.snapshot import FloatSnapshot, TankSnapshot
from gateway.water.volumes import below_l, capacity_l, height_m, level_m, two_digits

MIDDLE_X, BOTTOM = 92.0, 122.0
MOST_WIDE, MOST_HIGH = 130.0, 108.0
LEAST = 34.0
DEPTH = 0.22
"""How far the far end of a lying cylinder is drawn aside, as a share of its diameter."""
LABELS_APART = 15.0
"""Labels nearer than this to each other would run together."""

WaterBand = tuple[float, float | None, float]
"""Shares of the height: surely under water, likely (None where only the floats speak), at the most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """A tank's shape to draw: its kind, width over height, and for sides that are not straight up (share of the height, share of the
    greatest half width) from the bottom to the top."""

    kind: str
    ratio: float = 0.8
    sides: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FloatMark:
    """One float switch at its level, or a gauge's newest reading (`measured`): a line across the tank."""

    means: Literal["low", "high", "measured"]
    level: float
    text: str
    state: Literal["active", "idle", ""]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnOutline:
    """`path` is the outline, `behind` what is seen behind it; `left`, `right`, `top` its edges."""

    path: str
    behind: str
    left: float
    right: float
    top: float

    def y(self, level: float) -> float:
        """Where a share of the height lies."""
        return round(BOTTOM - (BOTTOM - self.top) * level, 1)


def outline_of(shape: m.Shape | None) -> Outline:
    """The outline in its real proportions; a plain vessel where no shape is known."""
    match shape:
        case None:
            return Outline(kind="unknown")
        case m.UprightCylinder():
            return Outline(kind=shape.kind, ratio=shape.diameter_m / shape.height_m)
        case m.LyingCylinder():
            return Outline(kind=shape.kind, ratio=1.0)
        case m.Box():
            return Outline(kind=shape.kind, ratio=max(shape.length_m, shape.width_m) / shape.height_m)
        case m.Tapered():
            widest = max(shape.bottom_diameter_m, shape.top_diameter_m)
            sides = ((0.0, shape.bottom_diameter_m / widest), (1.0, shape.top_diameter_m / widest))
            return Outline(kind=shape.kind, ratio=widest / shape.height_m, sides=sides)
        case m.Litres():
            return Outline(kind=shape.kind, ratio=_round_diameter_m(shape.litres, shape.height_m) / shape.height_m)
        case m.VolumeTable():
            return _outline_by_table(shape)


def float_marks(site: Site, snapshot: TankSnapshot) -> tuple[FloatMark, ...]:
    """Every float whose level is known, with how it stands."""
    shape = snapshot.tank.shape
    if shape is None:
        return ()
    top_m = height_m(shape)
    return tuple(
        FloatMark(
            means=switch.placed.float.means,
            level=_share(switch.placed.float.level_m, top_m),
            text=_mark_words(site, switch.placed.float.means, switch.placed.float.level_m),
            state="" if switch.now.state == "unknown" else switch.now.state,
        )
        for switch in snapshot.floats
        if switch.placed.float.level_m is not None
    )


def gauge_marks(site: Site, snapshot: TankSnapshot) -> tuple[FloatMark, ...]:
    """What each gauge reads; of one that is not heard nothing is drawn."""
    shape = snapshot.tank.shape
    if shape is None:
        return ()
    return tuple(
        FloatMark(
            means="measured",
            level=_share(gauge.measured.level_m, height_m(shape)),
            text=_mark_words(site, "measured", gauge.measured.level_m),
            state="",
        )
        for gauge in snapshot.gauges
        if gauge.is_heard and gauge.measured is not None
    )


def _share(level_m: float, top_m: float) -> float:
    return min(1.0, max(0.0, level_m / top_m))


def _mark_words(site: Site, what: str, level_m: float) -> str:
    """`low 0.45 m`."""
    return site.phrases.page(f"mark.{what}", level=site.phrases.format_number(level_m))


def water_band(snapshot: TankSnapshot, litres: Triple | None) -> WaterBand | None:
    """What is surely, likely and at the most under water; by the floats alone where no forecast is."""
    shape = snapshot.tank.shape
    if shape is None:
        return None
    top_m = height_m(shape)
    if litres is not None:
        low, likely, high = (
            min(1.0, level_m(shape, amount) / top_m) for amount in (litres.low, litres.likely, litres.high)
        )
        return low, likely, high
    least, most = _float_bounds(snapshot.floats, top_m)
    return None if least is None and most is None else (least or 0.0, None, 1.0 if most is None else most)


def litres_words(site: Site, snapshot: TankSnapshot, litres: Triple | None) -> str:
    """`About 620 l (410 to 830) of 5655 l.`, no more digits than are known; by the floats alone: what it holds at the least or at the most.
    Nothing where that would be between nothing and nothing."""
    shape = snapshot.tank.shape
    if shape is None:
        return ""
    whole = capacity_l(shape)
    if litres is None:
        return _litres_by_floats(site, snapshot.floats, shape)
    least, likely, most = (
        f"{min(two_digits(amount), whole):.0f}" for amount in (litres.low, litres.likely, litres.high)
    )
    if most == "0":
        return ""
    key = "litres.most" if likely == "0" else "litres.about" if least == most else "litres.between"
    return site.phrases.page(key, least=least, likely=likely, most=most, whole=f"{whole:.0f}")


def draw_outline(outline: Outline) -> DrawnOutline:
    """The outline as SVG paths."""
    if outline.kind == "lying-cylinder":
        return _lying_cylinder()
    wide, high = MOST_HIGH * outline.ratio, MOST_HIGH
    if wide > MOST_WIDE:
        wide, high = MOST_WIDE, max(LEAST, MOST_WIDE / outline.ratio)
    wide = max(LEAST, wide)
    left, right, top = MIDDLE_X - wide / 2, MIDDLE_X + wide / 2, BOTTOM - high
    if outline.sides:
        return DrawnOutline(path=_by_sides(outline.sides, wide, high), behind="", left=left, right=right, top=top)
    if outline.kind == "upright-cylinder":
        return _upright_cylinder(left, right, top)
    path = f"M{left:.1f} {top:.1f}V{BOTTOM:.1f}H{right:.1f}V{top:.1f}Z"
    return DrawnOutline(path=path, behind="", left=left, right=right, top=top)


def place_labels(marks: tuple[FloatMark, ...], drawn: DrawnOutline) -> list[tuple[FloatMark, float, float]]:
    """Each float with the y of its mark and of its label, labels kept apart, from the top down."""
    placed: list[tuple[FloatMark, float, float]] = []
    for mark in sorted(marks, key=lambda mark: -mark.level):
        y = drawn.y(mark.level)
        below = placed[-1][2] + LABELS_APART if placed else 0.0
        placed.append((mark, y, max(y, below)))
    return placed


def _outline_by_table(shape: m.VolumeTable) -> Outline:
    """Half widths as a round tank with those volumes between its levels would have them."""
    points = shape.points if shape.points[0][0] <= 0 else ((0.0, 0.0), *shape.points)
    height = height_m(shape)
    slices = [
        (low / height, high / height, _round_diameter_m(max(litres_above - litres_below, 0.0), high - low))
        for (low, litres_below), (high, litres_above) in pairwise(points)
        if high > low
    ]
    widest = max((wide for _, _, wide in slices), default=0.0)
    if widest <= 0:
        return Outline(kind=shape.kind)
    # Each slice is drawn with straight sides, so its half width stands at its lower and at its upper level.
    sides = tuple((level, wide / widest) for low, high, wide in slices for level in (low, high))
    return Outline(kind=shape.kind, ratio=widest / height, sides=sides)


def _round_diameter_m(litres: float, height: float) -> float:
    """Of an upright round tank of that volume."""
    return 2 * math.sqrt(litres / 1000 / height / math.pi)


def _float_bounds(floats: tuple[FloatSnapshot, ...], top_m: float) -> tuple[float | None, float | None]:
    """What the floats say: an idle low float or an active high one is under water, the others are above it."""
    under: list[float] = []
    above: list[float] = []
    for switch in floats:
        level = switch.placed.float.level_m
        if level is None or switch.now.state == "unknown":
            continue
        lifted = switch.now.state == ("idle" if switch.now.means == "low" else "active")
        (under if lifted else above).append(level / top_m)
    return max(under, default=None), min(above, default=None)


def _litres_by_floats(site: Site, floats: tuple[FloatSnapshot, ...], shape: m.Shape) -> str:
    least, most = _float_bounds(floats, height_m(shape))
    if least is None and most is None:
        return ""
    values = {"whole": f"{capacity_l(shape):.0f}", "least": f"{below_l(shape, (least or 0.0) * height_m(shape)):.0f}"}
    if most is None:
        return site.phrases.page("litres.least", **values)
    values["most"] = f"{below_l(shape, most * height_m(shape)):.0f}"
    return site.phrases.page("litres.most" if least is None else "litres.from-to", **values)


def _upright_cylinder(left: float, right: float, top: float) -> DrawnOutline:
    """Its bottom and top are seen a little from above: half ellipses, which bow by `bow`; the far edge of the top is `behind`."""
    radius, bow = (right - left) / 2, min(7.0, (right - left) / 8)
    near, far = f"A{radius:.1f} {bow:.1f} 0 0 0", f"M{left:.1f} {top:.1f}A{radius:.1f} {bow:.1f} 0 0 0"
    path = (
        f"M{left:.1f} {top:.1f}V{BOTTOM - bow:.1f}{near} {right:.1f} {BOTTOM - bow:.1f}V{top:.1f}"
        f"{near} {left:.1f} {top:.1f}Z"
    )
    return DrawnOutline(path=path, behind=f"{far} {right:.1f} {top:.1f}", left=left, right=right, top=top)


def _lying_cylinder() -> DrawnOutline:
    """Its near end is a whole circle; of the far end, which stands aside, the half that shows."""
    radius = MOST_HIGH / 2
    left, top, aside = MIDDLE_X - radius - 8, BOTTOM - MOST_HIGH, DEPTH * MOST_HIGH
    # SVG draws no arc that ends where it begins: two halves make the circle.
    half = f"a{radius:.1f} {radius:.1f} 0 1 0"
    path = f"M{left:.1f} {BOTTOM - radius:.1f}{half} {2 * radius:.1f} 0{half} {-2 * radius:.1f} 0Z"
    far_end = f"h{aside:.1f}a{radius:.1f} {radius:.1f} 0 0 1 0 {2 * radius:.1f}h{-aside:.1f}"
    behind = f"M{left + radius:.1f} {top:.1f}{far_end}"
    return DrawnOutline(path=path, behind=behind, left=left, right=left + 2 * radius, top=top)


def _by_sides(sides: tuple[tuple[float, float], ...], wide: float, high: float) -> str:
    """Up the right side and down the left, its mirror image."""
    right = [(MIDDLE_X + wide / 2 * half, BOTTOM - high * level) for level, half in sides]
    left = [(2 * MIDDLE_X - x, y) for x, y in reversed(right)]
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in right + left) + "Z"
