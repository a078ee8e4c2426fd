"""Text from outside → the same text with nothing in it that moves a cursor, turns a line round or hides.

In: any str. Out: str in which control, bidirectional, zero-width and surrogate characters stand as visible escapes
(`\\x1b`, `\\u202e`); line breaks and tabs become single spaces unless `lines` keeps them. Ordinary text is unchanged.
Source: Unicode 15 general categories Cc, Cf, Cs, Co, Cn, Zl, Zp.
"""

import unicodedata

_HIDDEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def harmless(text: str, *, lines: bool = False) -> str:
    """The text, safe to show anywhere."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(_shown(char, lines) for char in text.replace("\r\n", "\n"))


def spreadsheet_cell(text: str) -> str:
    """The text, safe as a spreadsheet cell: none can start a formula (an apostrophe stands before it)."""
    shown = harmless(text)
    return f"'{shown}" if shown.lstrip().startswith(_FORMULA_STARTS) else shown


def _shown(char: str, lines: bool) -> str:
    if char in "\n\t\r":
        return char if lines and char == "\n" else " "
    if unicodedata.category(char) not in _HIDDEN:
        return char
    point = ord(char)
    return f"\\x{point:02x}" if point < 0x100 else f"\\u{point:04x}" if point < 0x10000 else f"\\U{point:08x}"
