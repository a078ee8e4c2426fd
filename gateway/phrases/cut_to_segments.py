"""A message → as much of it as its segments hold, in the letters that it may have.

Source: 3GPP TS 23.038 and 23.040: a segment holds 160 characters of the GSM alphabet, and 70 of any other, so that one letter outside
the alphabet takes more than half of the room. Names in other letters are therefore transliterated, unless the household's language
needs such letters itself (`alphabet = "own"` in its phrase file).
"""

from collections.abc import Mapping
from dataclasses import dataclass

from gateway.gsm.segments import measure_text
from gateway.gsm.transliterate import transliterate

SEGMENT_CHARACTERS = 160
BEFORE_A_CUT = " ,;:.-("
"""What need not stand before the mark of a cut."""
BETWEEN_PIECES = "; "
"""Of a list that is cut no piece is kept in part: a number without its unit, or a tank without what it is, would say something else."""


@dataclass(frozen=True, slots=True)
class Letters:
    """Which letters a language's messages may have.

    `own`: letters outside the GSM alphabet. `latin`: how each is written in Latin letters; given only where a household wants one segment
    rather than its own letters, and then used where the own ones take more than one.
    """

    own: bool = False
    latin: Mapping[str, str] | None = None


def cut_to_segments(message: str, segments: int, letters: Letters) -> str:
    """The message if it fits, in plain letters if that is needed, else cut between two pieces of a list or two words and marked as cut."""
    room = segments * SEGMENT_CHARACTERS
    # one character more than can ever fit: a raw text of any length is measured only so far, and is still seen to be too long
    shown = in_its_letters(message[: room + 1], letters)
    if len(message) <= room and measure_text(shown).segments <= segments:
        return shown
    # three characters of the GSM alphabet; the one character for it would make such a message UCS-2
    mark = "..." if measure_text(shown).alphabet == "gsm7" else "…"
    kept = shown[:room]
    while kept and measure_text(kept + mark).segments > segments:
        kept = kept[:-1]
    in_a_word = kept and shown[len(kept) : len(kept) + 1].strip()
    # a single word of any length, such as an address, has no better place to be cut
    whole_words = kept.rpartition(" ")[0] if in_a_word else kept
    whole_pieces = kept.rpartition(BETWEEN_PIECES)[0]
    best = whole_pieces if len(whole_pieces) > len(kept) / 2 else whole_words or kept
    return best.rstrip(BEFORE_A_CUT) + mark


def in_its_letters(message: str, letters: Letters) -> str:
    """In the GSM alphabet, unless the language needs another and may have it."""
    measure = measure_text(message)
    if measure.alphabet == "gsm7" or (letters.own and (letters.latin is None or measure.segments == 1)):
        return message
    return transliterate(_romanised(message, letters.latin or {}))


def _romanised(message: str, latin: Mapping[str, str]) -> str:
    """Letter by letter by the language's own table, so that a reader of it knows the words again."""
    return " ".join(_word_romanised(word, latin) for word in message.split(" "))


def _word_romanised(word: str, latin: Mapping[str, str]) -> str:
    written = "".join(_letter_romanised(char, latin) for char in word)
    # one letter may become four: in capitals all of them are
    return written.upper() if word.isupper() and len(word) > 1 else written


def _letter_romanised(char: str, latin: Mapping[str, str]) -> str:
    written = latin.get(char.lower(), char)
    return written.capitalize() if char.isupper() else written
