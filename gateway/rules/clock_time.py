"""A time of day as a box writes it ↔ `datetime.time`: `14:05`, `14.05`, `14h05`, `1405`, `14:05:30`, `2:05 pm`.

`WRITTEN` is its regular expression over folded text; the field `{time}` takes it.
"""

from datetime import time

import regex

WRITTEN = r"\d{1,2}[:.h]\d{2}(?:[:.]\d{2})?(?: ?[ap]m)?|\d{4}(?:\d{2})?"
_PARTS = regex.compile(r"(\d{1,2}?)[:.h]?(\d{2})(?:[:.]?(\d{2}))? ?(am|pm)?", regex.IGNORECASE)


def parse_clock(written: str) -> time | None:
    """The time of day; None where it is none (`24:60`)."""
    parts = _PARTS.fullmatch(written.strip())
    if parts is None:
        return None
    hour, minute, second = int(parts[1]), int(parts[2]), int(parts[3] or 0)
    if parts[4]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if parts[4].lower() == "pm" else 0)
    try:
        return time(hour, minute, second)
    except ValueError:
        return None
