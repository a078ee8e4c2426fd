"""Durations as a person writes them (`"1d 2h"`) ↔ timedelta.

In: a string of numbers with units s, m, h, d (or an int/timedelta already made). Out: timedelta.
Raises: ValueError, saying what would be right.
"""

import re
from datetime import timedelta
from typing import Literal

SECONDS_OF = {"s": 1, "m": 60, "h": 3600, "d": 86400, "w": 604800}
_PIECE = re.compile(r"(\d{1,9}(?:\.\d{1,6})?)\s*([smhdw])", re.IGNORECASE)
LONGEST_DURATION = timedelta(days=3660)
"""Ten years: longer is a slip of the pen, and dates beyond the year 9999 cannot be reckoned with."""
_EXPECTED = 'a duration such as "90s", "30m", "26h", "2d" or "1d 2h"'


def parse_duration(value: object) -> timedelta:
    """The duration a person wrote."""
    if isinstance(value, timedelta):
        return value
    if not isinstance(value, str):
        raise ValueError(f"expected {_EXPECTED}")
    pieces = _PIECE.findall(value)
    unread = _PIECE.sub("", value).strip()
    if unread or not pieces:
        raise ValueError(f"expected {_EXPECTED}")
    seconds = sum(float(number) * SECONDS_OF[unit.lower()] for number, unit in pieces)
    if seconds > LONGEST_DURATION.total_seconds():
        raise ValueError(f"expected {_EXPECTED}, not longer than {LONGEST_DURATION.days} days")
    return timedelta(seconds=seconds)


def duration_or_off(value: object) -> timedelta | None:
    """A duration a person wrote; an empty string, "off" and None are None."""
    if value is None or (isinstance(value, str) and value.strip().lower() in ("", "off")):
        return None
    return parse_duration(value)


def silence_limit(value: object) -> timedelta | Literal["auto"] | None:
    """A duration, "auto", or "off" (None)."""
    if isinstance(value, str) and value.strip().lower() == "auto":
        return "auto"
    return duration_or_off(value)


def format_setting(value: timedelta | str | None) -> str:
    """A duration, None or a word such as "auto" as it may stand in the file; parts of a second are kept."""
    if value is None:
        return "off"
    if isinstance(value, str):
        return value
    return format_duration(value) if not value.microseconds else f"{value.total_seconds():.6f}s"


def format_duration(value: timedelta) -> str:
    """timedelta → the shortest string `parse_duration` reads back."""
    seconds = int(value.total_seconds())
    pieces = []
    for unit in ("d", "h", "m", "s"):
        count, seconds = divmod(seconds, SECONDS_OF[unit])
        if count:
            pieces.append(f"{count}{unit}")
    return " ".join(pieces) or "0s"
