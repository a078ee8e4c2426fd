"""A tank's shape → its outline as SVG, in a field 150 wide in which the water runs from y 110 (outlet) to 10 (full)."""

from collections.abc import Mapping
from typing import Any

OUTLINES: Mapping[str, str] = {
    "upright-cylinder": '<path d="M30 10 V110 H120 V10 M30 10 a45 7 0 0 1 90 0"/>',
    "lying-cylinder": '<ellipse cx="75" cy="60" rx="62" ry="50"/>',
    "box": '<path d="M18 10 V110 H132 V10 Z"/>',
    "tapered": '<path d="M18 10 L34 110 H116 L132 10 Z"/>',
    "litres": '<path d="M26 10 V104 q0 6 6 6 H118 q6 0 6 -6 V10 Z"/>',
    "table": '<path d="M26 10 V104 q0 6 6 6 H118 q6 0 6 -6 V10 Z"/>',
}


def outline(kind: str) -> Any:
    """The outline as safe markup; a plain vessel where the shape is not known."""
    from markupsafe import Markup

    return Markup(OUTLINES.get(kind, OUTLINES["litres"]))
