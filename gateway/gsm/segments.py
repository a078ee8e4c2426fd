"""A text → its alphabet, units and the segments it is sent in.

Units are septets for "gsm7" (160 in a lone segment, 153 in one of several) and 16-bit units for "ucs2" (70, 67).
Source: 3GPP TS 23.040 9.2.3.16 and 9.2.3.24.1: 140 octets, less 6 for a header with an 8-bit reference.
An escape pair or a surrogate pair never straddles two segments.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from gateway.gsm.alphabet import EXTENSION, count_septets, is_gsm

Alphabet = Literal["gsm7", "ucs2"]

LONE_UNITS: dict[Alphabet, int] = {"gsm7": 160, "ucs2": 70}
JOINED_UNITS: dict[Alphabet, int] = {"gsm7": 153, "ucs2": 67}
"""140 octets less 6 for the header: 134, which are 153 septets (and one bit over) or 67 units of UCS-2."""
PAIRS = tuple(EXTENSION.values())
"""Characters that take two septets: an escape and another."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """How much room a text takes; an empty one still takes a segment."""

    alphabet: Alphabet
    units: int
    segments: int


def measure_text(text: str) -> Measure:
    """How much room a text takes: its alphabet, units and number of segments."""
    alphabet = alphabet_of(text)
    units = _count_units(text, alphabet)
    return Measure(
        alphabet=alphabet, units=units, segments=1 if units <= LONE_UNITS[alphabet] else len(split_into_segments(text))
    )


def split_into_segments(text: str) -> tuple[str, ...]:
    """The text of each segment, in order; joined they are the text again."""
    alphabet = alphabet_of(text)
    if _count_units(text, alphabet) <= LONE_UNITS[alphabet]:
        return (text,)
    return tuple(_fill_segments(text, _COUNT[alphabet], JOINED_UNITS[alphabet]))


def alphabet_of(text: str) -> Alphabet:
    """The alphabet a text is sent in: "gsm7" where every character is in the default alphabet or its extension, else "ucs2"."""
    return "gsm7" if is_gsm(text) else "ucs2"


def _count_units(text: str, alphabet: Alphabet) -> int:
    if alphabet == "gsm7":
        return len(text) + sum(map(text.count, PAIRS))
    return len(text.encode("utf-16-be", "surrogatepass")) // 2


def _fill_segments(text: str, count: Callable[[str], int], room: int) -> list[str]:
    """Character by character, so that neither an escape pair nor a surrogate pair is parted."""
    parts, start, used = [], 0, 0
    for place, char in enumerate(text):
        units = count(char)
        if used + units > room:
            parts.append(text[start:place])
            start, used = place, 0
        used += units
    parts.append(text[start:])
    return parts


def _utf16_units(char: str) -> int:
    return 1 if ord(char) < 0x10000 else 2


_COUNT: dict[Alphabet, Callable[[str], int]] = {"gsm7": count_septets, "ucs2": _utf16_units}
