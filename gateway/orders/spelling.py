"""Words as people spell them on a phone → words that can be compared, and lengths of time."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from datetime import timedelta

from gateway.settings.durations import parse_duration

_AROUND = re.compile(r"^[\W_]+|[\W_]+$")
_APOSTROPHES = str.maketrans("", "", "'\u2019\u2018\u02bc`\u00b4")
"""A phone sets another one than the phrase file has, or none."""
_WITHOUT_UMLAUTS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "Ä": "Ae", "Ö": "Oe", "Ü": "Ue"})
"""How a German writes them where the keys lack them; DIN 5007 sorts names so."""
SPANS: Mapping[str, str] = {"minute": "m", "hour": "h", "day": "d", "week": "w"}
"""The keys of `[until]` with a unit's words, and how a duration is written in the configuration."""
_PIECE = re.compile(r"[\d.]+|[^\W\d_]+|\S")


def folded(text: str) -> str:
    """Without case, accents and apostrophes, white space single."""
    apart = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", text.translate(_APOSTROPHES)).casefold())
    return " ".join("".join(char for char in apart if not unicodedata.combining(char)).split())


def bare(text: str) -> str:
    """Folded, and without whatever is neither letter nor figure around it."""
    return _AROUND.sub("", folded(text))


def spellings(word: str) -> tuple[str, str]:
    """As it is written, and as it is where the keys lack ä, ö and ü."""
    return word, word.translate(_WITHOUT_UMLAUTS)


def spelled(words: Sequence[str]) -> list[str]:
    """The words bare, in each of their spellings."""
    return [bare(spelling) for word in words for spelling in dict.fromkeys(spellings(word))]


def span_of(text: str, words: Mapping[str, Sequence[str]]) -> timedelta | None:
    """A length of time as people write it: `4h`, `2 days`, each unit by its words in `[until]`; None where it is none."""
    units = {bare(word): unit for key, unit in SPANS.items() for word in words.get(key, ())}
    pieces = [units.get(bare(piece), piece) for piece in _PIECE.findall(text.strip(" .!"))]
    try:
        return parse_duration(" ".join(pieces))
    except (ValueError, OverflowError):
        return None
