"""Text ↔ septets of the GSM 7-bit default alphabet ↔ packed octets.

In and out: `str`; "septets" are `bytes` with one value 0..127 each; "octets" are septets packed 8 into 7 bytes.
Source: 3GPP TS 23.038 (formerly GSM 03.38), 6.1.2.1 packing, 6.2.1 default alphabet, 6.2.1.1 extension table.

An escape that is followed by a code the extension table does not have shows the default alphabet's character
(6.2.1.1, note 1); an escape followed by another escape, or by nothing, shows a space (6.2.1, note 1).
"""

from gateway.gsm.national_tables import LOCKING, SINGLE

ESCAPE = 0x1B
"""Septet that says: the next one is of the extension table."""

DEFAULT = (
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞ\x1bÆæßÉ"
    " !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§"
    "¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
"""Character of each septet, 0..127; the one at 0x1B is no character."""

EXTENSION = {
    0x0A: "\f",
    0x14: "^",
    0x28: "{",
    0x29: "}",
    0x2F: "\\",
    0x3C: "[",
    0x3D: "~",
    0x3E: "]",
    0x40: "|",
    0x65: "€",
}
"""Septet after the escape → character."""

_SHOWN = DEFAULT.replace("\x1b", " ")
_ENCODED = {char: bytes([code]) for code, char in enumerate(DEFAULT) if code != ESCAPE} | {
    char: bytes([ESCAPE, code]) for code, char in EXTENSION.items()
}
_LETTERS = frozenset(_ENCODED)


def is_gsm(text: str) -> bool:
    """Whether every character of a text stands in the default alphabet or its extension."""
    return _LETTERS.issuperset(text)


def to_septets(text: str) -> bytes | None:
    """Text → one byte a septet, extension characters as two; None where a character has no place in the alphabet."""
    if not is_gsm(text):
        return None
    return b"".join(_ENCODED[char] for char in text)


def count_septets(char: str) -> int:
    """How many septets a character takes: 1, or 2 for a character of the extension table. Raises KeyError outside the alphabet."""
    return len(_ENCODED[char])


def from_septets(septets: bytes, *, locking: int = 0, single: int = 0) -> str:
    """Septets, each 0..127, → text. `locking`, `single`: the language whose tables are used."""
    if not locking and ESCAPE not in septets:
        return "".join([_SHOWN[septet] for septet in septets])
    letters, extension = _SHOWN, EXTENSION
    if locking in LOCKING:
        letters = "".join(LOCKING[locking].get(code, letter) for code, letter in enumerate(_SHOWN))
    if single in SINGLE:
        extension = {**EXTENSION, **SINGLE[single]}
    shown: list[str] = []
    values = iter(septets)
    for septet in values:
        if septet != ESCAPE:
            shown.append(letters[septet])
            continue
        # another escape, or nothing, behind an escape: the alphabet has a space there (6.2.1, note 1)
        follower = next(values, ESCAPE)
        shown.append(extension.get(follower, letters[follower]))
    return "".join(shown)


def pack_septets(septets: bytes, *, fill_bits: int = 0) -> bytes:
    """Septets → octets, least significant bit first, behind `fill_bits` (0..6) zero bits."""
    # as one long number: the first septet fills the lowest seven bits (6.1.2.1), which is what little-endian octets are
    whole = 0
    for septet in reversed(septets):
        whole = whole << 7 | septet
    bits = fill_bits + 7 * len(septets)
    return (whole << fill_bits).to_bytes((bits + 7) // 8, "little")


def unpack_octets(octets: bytes, count: int, *, fill_bits: int = 0) -> bytes:
    """Octets → the first `count` septets behind `fill_bits`; fewer where the octets end before."""
    available = max(0, (8 * len(octets) - fill_bits) // 7)
    whole = int.from_bytes(octets, "little") >> fill_bits
    return bytes([whole >> shift & 0x7F for shift in range(0, 7 * min(count, available), 7)])


def fill_bits_behind(header_octets: int) -> int:
    """Zero bits between a user data header of so many octets (its length octet included) and the first septet.

    Source: 3GPP TS 23.040 9.2.3.24: septets start on a septet boundary counted from the start of the user data.
    """
    return -8 * header_octets % 7
