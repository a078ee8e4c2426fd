"""`"1d 2h"` → timedelta.

In: a string of numbers with units s, m, h, d (or an int/timedelta already made). Out: timedelta.
Raises: ValueError, saying what would be right.
"""

import re
from datetime import timedelta
from typing import Any, Literal

SECONDS_OF = {"s": 1, "m": 60, "h": 3600, "d": 86400, "w": 604800}
_PIECE = re.compile(r"(\d{1,9}(?:\.\d{1,6})?)\s*([smhdw])", re.IGNORECASE)
LONGEST = timedelta(days=3660)
"""Ten years: longer is a slip of the pen, and dates beyond the year 9999 cannot be reckoned with."""
RIGHT = 'a duration such as "90s", "30m", "26h", "2d" or "1d 2h"'


def duration(value: Any) -> timedelta:
    """The duration a person wrote."""
    if isinstance(value, timedelta):
        return value
    if not isinstance(value, str):
        raise ValueError(f"expected {RIGHT}")
    rest = _PIECE.sub("", value).strip()
    pieces = _PIECE.findall(value)
    if rest or not pieces:
        raise ValueError(f"expected {RIGHT}")
    seconds = sum(float(number) * SECONDS_OF[unit.lower()] for number, unit in pieces)
    if seconds > LONGEST.total_seconds():
        raise ValueError(f"expected {RIGHT}, not longer than {LONGEST.days} days")
    return timedelta(seconds=seconds)


def duration_or_off(value: Any) -> timedelta | None:
    """The same; an empty string, "off" and None are None."""
    if value is None or (isinstance(value, str) and value.strip().lower() in ("", "off")):
        return None
    return duration(value)


def silence_limit(value: Any) -> timedelta | Literal["auto"] | None:
    """A duration, "auto", or "off" (None)."""
    if isinstance(value, str) and value.strip().lower() == "auto":
        return "auto"
    return duration_or_off(value)


def written(value: timedelta | str | None) -> str:
    """Any of the above as it may stand in the file; parts of a second are kept."""
    if value is None:
        return "off"
    if isinstance(value, str):
        return value
    return spoken(value) if not value.microseconds else f"{value.total_seconds():.6f}s"


def spoken(value: timedelta) -> str:
    """timedelta → the shortest string `duration` reads back."""
    left = int(value.total_seconds())
    pieces = []
    for unit in ("d", "h", "m", "s"):
        count, left = divmod(left, SECONDS_OF[unit])
        if count:
            pieces.append(f"{count}{unit}")
    return " ".join(pieces) or "0s"
