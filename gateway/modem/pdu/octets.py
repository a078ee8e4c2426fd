"""Octets of a PDU → its fields, one after another: numbers, addresses, time stamps.

Source: 3GPP TS 23.040 9.1.2 (numeric and alphanumeric representation, address fields) and 9.2.3.11 (time stamp).
"""

from datetime import UTC, datetime, timedelta, timezone

from gateway.gsm.alphabet import from_septets, unpack_octets
from gateway.phone_numbers import as_name

DIGITS = "0123456789*#abc"
"""Semi-octet → what it stands for; 0xF fills an odd number up (9.1.2.3)."""
INTERNATIONAL, ALPHANUMERIC = 1, 5
"""Type of number: bits 6 to 4 of the type-of-address octet (9.1.2.5)."""
CENTURY_TURN = 90
"""Two-digit years from here on are of the 20th century: the first short message was sent in 1992."""


class Malformed(ValueError):
    """The octets cannot be what they should be; the message says why, in words."""


class Octets:
    """A PDU read from front to back."""

    def __init__(self, octets: bytes) -> None:
        self._octets = octets
        self._at = 0

    def octet(self, what: str) -> int:
        """The next octet. Raises Malformed, naming `what`, at the end."""
        return self.several(1, what)[0]

    def several(self, count: int, what: str) -> bytes:
        """The next `count` octets. Raises Malformed, naming `what`, where fewer are left."""
        piece = self._octets[self._at : self._at + count]
        if len(piece) < count:
            raise Malformed(f"cut short: {what} needs {count} octets, {len(piece)} are there")
        self._at += count
        return piece

    def at_most(self, count: int) -> bytes:
        """The next `count` octets, or as many as are left."""
        piece = self._octets[self._at : self._at + count]
        self._at += len(piece)
        return piece

    def remaining(self) -> bytes:
        """Whatever is left."""
        piece = self._octets[self._at :]
        self._at = len(self._octets)
        return piece

    def address(self, what: str) -> str:
        """'+digits' where it is international, digits, or a name, in quotes where it could be read as a number."""
        semi_octets = self.octet(f"the length of {what}")
        kind = self.octet(f"the type of {what}") >> 4 & 0b111
        octets = self.several((semi_octets + 1) // 2, what)
        if kind == ALPHANUMERIC:
            return as_name(_name(octets, semi_octets))
        digits = "".join(DIGITS[nibble] for nibble in _semi_octets(octets)[:semi_octets] if nibble < len(DIGITS))
        return f"+{digits}" if kind == INTERNATIONAL and digits else digits

    def stamp(self, what: str) -> datetime | None:
        """UTC; None where the seven octets are no time."""
        return stamp(self.several(7, what))


def stamp(octets: bytes) -> datetime | None:
    """YY MM DD hh mm ss in local time and the zone, each as two swapped digits → UTC, or None where that is no time."""
    numbers = [_two_digits(octet) for octet in octets[:6]]
    quarters = _two_digits(octets[6] & ~0x08)
    if quarters is None or None in numbers:
        return None
    year, month, day, hour, minute, second = (number for number in numbers if number is not None)
    year += 1900 if year >= CENTURY_TURN else 2000
    try:
        local = datetime(year, month, day, hour, minute, second, tzinfo=_zone(quarters, octets[6]))
    except ValueError:
        return None
    return local.astimezone(UTC)


def _zone(quarters: int, octet: int) -> timezone:
    offset = timedelta(minutes=15 * quarters)
    return timezone(-offset if octet & 0x08 else offset)


def _two_digits(octet: int) -> int | None:
    tens, ones = octet & 0x0F, octet >> 4
    return 10 * tens + ones if tens < 10 and ones < 10 else None


def _semi_octets(octets: bytes) -> list[int]:
    return [nibble for octet in octets for nibble in (octet & 0x0F, octet >> 4)]


def _name(octets: bytes, semi_octets: int) -> str:
    septets = unpack_octets(octets, semi_octets * 4 // 7)
    if septets and len(septets) % 8 == 0 and septets[-1] == 0:
        septets = septets[:-1]  # eight septets fill seven octets: a last zero is padding, not "@"
    return from_septets(septets)
