"""A language and the longest names of a household → which phrases lack, which would be cut, and which need letters plain texts lack.

Pure: nothing is said, no time is put into words; the longest forms stand in for times and spans.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from gateway.gsm.segments import measure
from gateway.gsm.translit import to_gsm
from gateway.phrases.book import FIELD, Phrasebook, read_phrases

TABLES = (
    "words",
    "label",
    "cause",
    "silence",
    "advice",
    "said",
    "answer",
    "counts",
    "spans",
    "spoken",
    "spoken_spans",
    "week",
    "spoken_week",
)
LONGEST_TIME, LONGEST_SPAN, LONGEST_NUMBER = "30 Nov 2026 23:59", "59 seconds", "1000"
LONGEST: Mapping[str, str] = {
    "number": "+61491570156",
    "state": "unknown",
    "level": "12.45 V",
    "was": "12.4 l/min",
    "now": "12.4 l/min",
    "free": "999 MB",
    "amount": "-999.99",
}
SPANS = ("lasted", "lasts")
NUMBERS = ("count", "limit")
FREE = ("raw", "why", "list", "matters")
"""What comes from elsewhere and is cut where it must be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """`lacking`: keys said in English; `cut`: keys whose first sentence does not fit; `letters`: outside the GSM alphabet."""

    lacking: tuple[str, ...]
    cut: tuple[str, ...]
    letters: str


def review(book: Phrasebook, names: Mapping[str, str], segments: int) -> Review:
    """`names`: the longest name for each field (`tank`, `controller`, `who`, `site`, …)."""
    own, english = read_phrases(book.language), read_phrases("en")
    return Review(
        lacking=tuple(_lacking(own, english)),
        cut=tuple(_cut(book, names, segments)),
        letters="".join(
            sorted({letter for text in _texts(own) for letter in text if measure(letter).alphabet != "gsm7"})
        ),
    )


def _lacking(own: Mapping[str, Any], english: Mapping[str, Any]) -> Iterator[str]:
    for table in TABLES:
        yield from (f"{table}.{key}" for key in english.get(table, {}) if key not in own.get(table, {}))


def _cut(book: Phrasebook, names: Mapping[str, str], segments: int) -> Iterator[str]:
    for table in ("said", "answer"):
        for key, entry in book.data[table].items():
            said = FIELD.sub(lambda found: _longest(found[1], found[2], book, names), entry["head"])
            shown = said if book.own_alphabet else to_gsm(said)
            if measure(shown).segments > segments:
                yield f"{table}.{key}"


def _longest(field: str, counted: str | None, book: Phrasebook, names: Mapping[str, str]) -> str:
    if counted:
        return str(max(book.data["counts"][counted].values(), key=len)).format(n=LONGEST_NUMBER)
    if field in SPANS:
        return LONGEST_SPAN
    if field in NUMBERS:
        return LONGEST_NUMBER
    return names.get(field) or LONGEST.get(field, "" if field in FREE else LONGEST_TIME)


def _texts(data: Mapping[str, Any]) -> Iterator[str]:
    """Every sentence of a phrase file that may leave as a text; fields taken out."""
    for table in TABLES[1:]:
        yield from _strings(data.get(table, {}))


def _strings(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield FIELD.sub("", value)
    elif isinstance(value, Mapping):
        for one in value.values():
            yield from _strings(one)
    elif isinstance(value, list):
        for one in value:
            yield from _strings(one)
