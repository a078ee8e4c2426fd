"""Lines of no known form, counted: so that somebody who looks at the gateway from afar learns what this modem says beyond the grammar.

Kept are their shapes, not their words: figures and quoted words may be somebody's number or text.
"""

import re
from collections import OrderedDict

MOST_SHAPES = 20
LONGEST_SHAPE = 60
HEX_RUN = re.compile(r"[0-9A-Fa-f]{12,}")
QUOTED = re.compile(r'"[^"]*"?')
FIGURES = re.compile(r"\d{4,}")


class UnknownLines:
    """The newest so many shapes with how often each came."""

    def __init__(self) -> None:
        self._counts: OrderedDict[str, int] = OrderedDict()
        self._changed = False

    def note(self, line: str) -> None:
        """A line came."""
        shape = shape_of(line)
        self._changed = self._changed or shape not in self._counts
        self._counts[shape] = self._counts.pop(shape, 0) + 1
        while len(self._counts) > MOST_SHAPES:
            self._counts.popitem(last=False)

    def take_changed(self) -> tuple[tuple[str, int], ...] | None:
        """Shape and count of each, where there is a new one since it was last asked."""
        if not self._changed:
            return None
        self._changed = False
        return tuple(self._counts.items())


def shape_of(line: str) -> str:
    """A line without what may be somebody's: `+XYZ: "Ridge",491570006` → `+XYZ: "…",…`."""
    shown = "".join(char if char.isascii() and char.isprintable() else "?" for char in line)
    shown = QUOTED.sub('"..."', shown)
    return FIGURES.sub("...", HEX_RUN.sub("(hex)", shown))[:LONGEST_SHAPE]
