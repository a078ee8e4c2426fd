"""A tank's shape → its outline as SVG in its real proportions, and where a share of its height lies.

The field is 220 by 132; the vessel stands in its middle, the water between `BOTTOM` and `top`. A tank far wider than high (or the reverse)
is drawn as wide (high) as the field allows, so that it can still be read.
"""

from dataclasses import dataclass

from gateway.page.view import FloatView, VesselView

WIDTH, HEIGHT = 220.0, 132.0
MIDDLE, BOTTOM = 92.0, 122.0
MOST_WIDE, MOST_HIGH = 130.0, 108.0
LEAST = 34.0
DEPTH = 0.22
"""How far the far end of a lying cylinder is drawn aside, as a share of its diameter."""
APART = 12.0
"""Labels nearer than this to each other would run together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """`path` is the outline, `behind` what is seen behind it; `left`, `right`, `top` its edges."""

    path: str
    behind: str
    left: float
    right: float
    top: float

    def y(self, level: float) -> float:
        """Where a share of the height lies."""
        return round(BOTTOM - (BOTTOM - self.top) * level, 1)


def drawn(vessel: VesselView) -> Drawn:
    """The outline."""
    if vessel.kind == "lying-cylinder":
        return _lying()
    wide = MOST_HIGH * vessel.ratio
    high = MOST_HIGH
    if wide > MOST_WIDE:
        wide, high = MOST_WIDE, max(LEAST, MOST_WIDE / vessel.ratio)
    wide = max(LEAST, wide)
    left, right, top = MIDDLE - wide / 2, MIDDLE + wide / 2, BOTTOM - high
    if vessel.sides:
        path = _by_sides(vessel.sides, wide, high)
    elif vessel.kind == "upright-cylinder":
        bow = min(7.0, wide / 8)
        path = (
            f"M{left:.1f} {top:.1f}V{BOTTOM - bow:.1f}A{wide / 2:.1f} {bow:.1f} 0 0 0 {right:.1f} {BOTTOM - bow:.1f}V{top:.1f}"
            f"A{wide / 2:.1f} {bow:.1f} 0 0 0 {left:.1f} {top:.1f}Z"
        )
    else:
        path = f"M{left:.1f} {top:.1f}V{BOTTOM:.1f}H{right:.1f}V{top:.1f}Z"
    behind = ""
    if vessel.kind == "upright-cylinder":
        bow = min(7.0, wide / 8)
        behind = f"M{left:.1f} {top:.1f}A{wide / 2:.1f} {bow:.1f} 0 0 0 {right:.1f} {top:.1f}"
    return Drawn(path=path, behind=behind, left=left, right=right, top=top)


def labels(floats: tuple[FloatView, ...], vessel: Drawn) -> list[tuple[FloatView, float, float]]:
    """Each float with the y of its mark and of its label, labels kept apart, from the top down."""
    placed: list[tuple[FloatView, float, float]] = []
    for one in sorted(floats, key=lambda each: -each.level):
        y = vessel.y(one.level)
        below = placed[-1][2] + APART if placed else 0.0
        placed.append((one, y, max(y, below)))
    return placed


def _lying() -> Drawn:
    radius = MOST_HIGH / 2
    left, top, aside = MIDDLE - radius - 8, BOTTOM - MOST_HIGH, DEPTH * MOST_HIGH
    middle = left + radius
    half = f"a{radius:.1f} {radius:.1f} 0 1 0"
    path = f"M{left:.1f} {BOTTOM - radius:.1f}{half} {2 * radius:.1f} 0{half} {-2 * radius:.1f} 0Z"
    behind = f"M{middle:.1f} {top:.1f}h{aside:.1f}a{radius:.1f} {radius:.1f} 0 0 1 0 {2 * radius:.1f}h{-aside:.1f}"
    return Drawn(path=path, behind=behind, left=left, right=left + 2 * radius, top=top)


def _by_sides(sides: tuple[tuple[float, float], ...], wide: float, high: float) -> str:
    """Points (share of the height, share of the greatest half width) up the right side and down the left."""
    right = [(MIDDLE + wide / 2 * half, BOTTOM - high * level) for level, half in sides]
    left = [(2 * MIDDLE - x, y) for x, y in reversed(right)]
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in right + left) + "Z"
