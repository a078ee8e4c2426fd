"""Letters of some languages in septets: where a text says so, a code stands for another character than in the default alphabet.

A header in front of the text names the language of each: a *locking* table takes the place of the default alphabet, a *single shift* table
that of the extension (what follows an escape). Both are given as their differences from those. A language that has no table (Spanish locks
nothing; numbers from 14 on are reserved) is read by the default ones.
Source: 3GPP TS 23.038 6.2.1.2.4 (which language is which), annex A; 23.040 9.2.3.24.15 and .16.
"""

from collections.abc import Mapping
from string import ascii_uppercase

from gateway.gsm.indian_tables import LETTERS, SIGNS, SIGNS_FROM, SIGNS_OF_ALL


def _behind_an_escape(signs: str) -> dict[int, str]:
    own = {SIGNS_FROM + place: sign for place, sign in enumerate(signs) if sign != " "}
    of_all = {code: sign for code, sign in enumerate(SIGNS_OF_ALL) if sign != " "}
    return {**of_all, **own, **{ord(letter): letter for letter in ascii_uppercase}}


LOCKING: Mapping[int, Mapping[int, str]] = {
    1: {
        0x04: "€",
        0x07: "ı",
        0x0B: "Ğ",
        0x0C: "ğ",
        0x1C: "Ş",
        0x1D: "ş",
        0x40: "İ",
        0x60: "ç",
    },
    3: {
        0x04: "ê",
        0x06: "ú",
        0x07: "í",
        0x08: "ó",
        0x09: "ç",
        0x0B: "Ô",
        0x0C: "ô",
        0x0E: "Á",
        0x0F: "á",
        0x12: "ª",
        0x13: "Ç",
        0x14: "À",
        0x15: "∞",
        0x16: "^",
        0x17: "\\",
        0x18: "€",
        0x19: "Ó",
        0x1A: "|",
        0x1C: "Â",
        0x1D: "â",
        0x1E: "Ê",
        0x24: "º",
        0x40: "Í",
        0x5B: "Ã",
        0x5C: "Õ",
        0x5D: "Ú",
        0x60: "~",
        0x7B: "ã",
        0x7C: "õ",
        0x7D: "`",
    },
    **{language: dict(enumerate(letters)) for language, letters in LETTERS.items()},
}
"""Language → septet → character. Spanish has none."""
SINGLE: Mapping[int, Mapping[int, str]] = {
    1: {
        0x47: "Ğ",
        0x49: "İ",
        0x53: "Ş",
        0x63: "ç",
        0x67: "ğ",
        0x69: "ı",
        0x73: "ş",
    },
    2: {
        0x09: "ç",
        0x41: "Á",
        0x49: "Í",
        0x4F: "Ó",
        0x55: "Ú",
        0x61: "á",
        0x69: "í",
        0x6F: "ó",
        0x75: "ú",
    },
    3: {
        0x05: "ê",
        0x09: "ç",
        0x0B: "Ô",
        0x0C: "ô",
        0x0E: "Á",
        0x0F: "á",
        0x12: "Φ",
        0x13: "Γ",
        0x15: "Ω",
        0x16: "Π",
        0x17: "Ψ",
        0x18: "Σ",
        0x19: "Θ",
        0x1F: "Ê",
        0x41: "À",
        0x49: "Í",
        0x4F: "Ó",
        0x55: "Ú",
        0x5B: "Ã",
        0x5C: "Õ",
        0x61: "Â",
        0x69: "í",
        0x6F: "ó",
        0x75: "ú",
        0x7B: "ã",
        0x7C: "õ",
        0x7F: "â",
    },
    **{language: _behind_an_escape(signs) for language, signs in SIGNS.items()},
}
"""Language → septet behind an escape → character."""
