"""Any text → the nearest text of the GSM 7-bit default alphabet. The one door to `anyascii`.

Only characters outside the alphabet change; `é` and `€` stay. A mark without a counterpart (an accent on its own, an
invisible sign) goes; a letter without one becomes `?`, so that the loss is seen.
"""

import unicodedata

from gateway.gsm.alphabet import is_gsm

_NEAR = {"`": "'", "\t": " ", "\v": "\n", "\x85": "\n", "\u2028": "\n", "\u2029": "\n", "\xa0": " ", "ç": "c"}
_INVISIBLE = frozenset({"Cc", "Cf", "Mn", "Me"})


def transliterate(text: str) -> str:
    """A text in the GSM alphabet: the same where it fits already. Every character of the result is in the alphabet."""
    if is_gsm(text):
        return text
    return "".join(char if is_gsm(char) else _nearest_letters(char) for char in unicodedata.normalize("NFC", text))


def _nearest_letters(char: str) -> str:
    # imported only here: 8 ms and 1 MB (measured), which only a letter outside the alphabet needs
    from anyascii import anyascii

    if char in _NEAR:
        return _NEAR[char]
    # half of a surrogate pair, as a broken PDU can leave it, is no character
    if "\ud800" <= char <= "\udfff":
        return "?"
    plain = "".join(_NEAR.get(letter, letter) for letter in anyascii(char))
    fitting = "".join(letter for letter in plain if is_gsm(letter))
    # a mark that nobody sees goes; a letter that is lost leaves a "?", so that the loss is seen
    if fitting or unicodedata.category(char) in _INVISIBLE:
        return fitting
    return "?"
