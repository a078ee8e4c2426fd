"""The head of a message and its further pieces → one message, as long as a screen or a voice bears it.

The pieces have ranks. Who, what and since when (the head), what keeps people from harm and how to answer are never dropped: the message
takes a further segment for them. The others follow in order while they find room. Pieces stand in their own order either way.
"""

import re
from collections.abc import Sequence

from gateway.gsm.segments import measure_text
from gateway.phrases.cut_to_segments import Letters, cut_to_segments, in_its_letters
from gateway.phrases.said_times import Line

MOST_SEGMENTS = 3
"""No message of the gateway's own words grows beyond it; what is longer still has a name in it that is cut."""
SPOKEN_CHARACTERS_A_SECOND = 12.5
SPOKEN_S = 20.0
"""Text-to-speech speaks 10 to 15 characters a second (published/speech.csv); who picks up a telephone listens so long (common practice)."""
LONG_NUMBER = re.compile(r"\d{3,}")
FIGURES_AS_WRITTEN, CHARACTERS_A_FIGURE = 2, 8
"""A figure beyond the second of a number is said as a word of some eight letters more than is written (measured)."""
SPOKEN_SEGMENTS = {False: 2, True: 4}
"""What a voice speaks in that time, in segments: 250 characters of the GSM alphabet, or of another (`Letters.own`)."""


def put_together(
    head: str, pieces: Sequence[tuple[str, bool]], segments: int, line: Line, *, may_grow: bool, letters: Letters
) -> str:
    """`pieces`: each with whether it is never dropped. `may_grow`: the head is our own words and names, else it is cut to its segments."""
    if line == "landline":
        segments = max(segments, SPOKEN_SEGMENTS[letters.own])
    most = max(segments, MOST_SEGMENTS)
    head = cut_to_segments(head, most if may_grow else segments, letters)
    standing = [never_dropped for _, never_dropped in pieces]
    room = max(segments, min(_segments_of(_joined(head, pieces, standing), letters), most))
    for place, (_, never_dropped) in enumerate(pieces):
        if never_dropped:
            continue
        tried = [*standing[:place], True, *standing[place + 1 :]]
        longer = _joined(head, pieces, tried)
        fits = spoken_s(longer) <= SPOKEN_S if line == "landline" else _segments_of(longer, letters) <= room
        if fits:
            standing = tried  # a later, shorter piece may still find room where this one did not
    return in_its_letters(_joined(head, pieces, standing), letters)


def spoken_s(message: str) -> float:
    """How long a voice takes for it, in seconds; what a synthesiser took for each message stands in `tests/phrases/SPOKEN.md`."""
    said_of_figures = sum(len(figures) - FIGURES_AS_WRITTEN for figures in LONG_NUMBER.findall(message))
    return (len(message) + said_of_figures * CHARACTERS_A_FIGURE) / SPOKEN_CHARACTERS_A_SECOND


def _joined(head: str, pieces: Sequence[tuple[str, bool]], standing: Sequence[bool]) -> str:
    return " ".join([head, *(piece for (piece, _), stands in zip(pieces, standing, strict=True) if stands)])


def _segments_of(message: str, letters: Letters) -> int:
    return measure_text(in_its_letters(message, letters)).segments
