"""Text ↔ packed septets, written apart from `gateway.gsm` so that both ends of the wire cannot share a mistake.

All bits of a text are one whole number here: septet n stands at bit 7·n (+ fill bits), least significant first.
Source: 3GPP TS 23.038 6.1.2.1 (packing), 6.2.1 (default alphabet), 6.2.1.1 (extension).
"""

_COLUMNS = (
    ("@", "£", "$", "¥", "è", "é", "ù", "ì", "ò", "Ç", "\n", "Ø", "ø", "\r", "Å", "å"),
    ("Δ", "_", "Φ", "Γ", "Λ", "Ω", "Π", "Ψ", "Σ", "Θ", "Ξ", None, "Æ", "æ", "ß", "É"),
    (" ", "!", '"', "#", "¤", "%", "&", "'", "(", ")", "*", "+", ",", "-", ".", "/"),
    tuple("0123456789:;<=>?"),
    ("¡", *"ABCDEFGHIJKLMNO"),
    (*"PQRSTUVWXYZ", "Ä", "Ö", "Ñ", "Ü", "§"),
    ("¿", *"abcdefghijklmno"),
    (*"pqrstuvwxyz", "ä", "ö", "ñ", "ü", "à"),
)
"""The table of 6.2.1: column = the three high bits, row = the four low ones."""
_EXTENDED = {
    "\f": 10,
    "^": 20,
    "{": 40,
    "}": 41,
    "\\": 47,
    "[": 60,
    "~": 61,
    "]": 62,
    "|": 64,
    "€": 101,
}
_ESC = 27
_CODE = {char: 16 * column + row for column, rows in enumerate(_COLUMNS) for row, char in enumerate(rows) if char}
_CHAR = {code: char for char, code in _CODE.items()}
_EXTENDED_CHAR = {code: char for char, code in _EXTENDED.items()}


def septets_for(char: str) -> tuple[int, ...] | None:
    """One or two septets, or None where the alphabet has no such character."""
    if char in _CODE:
        return (_CODE[char],)
    return (_ESC, _EXTENDED[char]) if char in _EXTENDED else None


def spelled(text: str) -> list[int] | None:
    """Septets of the whole text, or None where one character has none."""
    out: list[int] = []
    for char in text:
        septets = septets_for(char)
        if septets is None:
            return None
        out.extend(septets)
    return out


def read_out(septets: list[int]) -> str:
    """Text of septets; what the extension table does not have is shown as its default character."""
    chars, extended = [], False
    for septet in septets:
        if septet == _ESC and not extended:
            extended = True
            continue
        shown = _CHAR.get(septet, " ")
        chars.append(_EXTENDED_CHAR.get(septet, shown) if extended else shown)
        extended = False
    return "".join(chars)


def squeezed(septets: list[int], fill_bits: int = 0) -> bytes:
    """Packed octets, with `fill_bits` zero bits in front."""
    bits = sum(septet << (7 * place + fill_bits) for place, septet in enumerate(septets))
    return bits.to_bytes((7 * len(septets) + fill_bits + 7) // 8, "little")


def spread(octets: bytes, count: int, fill_bits: int = 0) -> list[int]:
    """`count` septets out of packed octets."""
    bits = int.from_bytes(octets, "little") >> fill_bits
    return [bits >> (7 * place) & 0x7F for place in range(count)]
