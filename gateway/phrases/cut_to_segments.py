"""A message → as much of it as its segments hold, in the letters a plain text has.

Source: 3GPP TS 23.038 and 23.040: a segment holds 160 characters of the GSM alphabet, and 70 of any other, so that one letter outside
the alphabet takes more than half of the room. Names in other letters are therefore transliterated, unless the household's language
needs such letters itself (`alphabet = "own"` in its phrase file).
"""

from gateway.gsm.segments import measure_text
from gateway.gsm.transliterate import transliterate

ELLIPSIS = "..."
"""Three characters of the GSM alphabet; the one character for it would make the message UCS-2."""
SEGMENT_CHARACTERS = 160


def cut_to_segments(message: str, segments: int, *, own_alphabet: bool) -> str:
    """The message if it fits, transliterated if that is needed, else cut and marked as cut."""
    room = segments * SEGMENT_CHARACTERS
    # one character more than can ever fit: a raw text of any length is measured only so far, and is still seen to be too long
    shown = in_plain_letters(message[: room + 1], own_alphabet=own_alphabet)
    if len(message) <= room and measure_text(shown).segments <= segments:
        return shown
    plain = transliterate(shown)[: room + 1]
    while plain and measure_text(plain + ELLIPSIS).segments > segments:
        plain = plain[:-1]
    return plain.rstrip() + ELLIPSIS


def in_plain_letters(message: str, *, own_alphabet: bool) -> str:
    """In the GSM alphabet, unless the language itself needs another."""
    return message if own_alphabet or measure_text(message).alphabet == "gsm7" else transliterate(message)
