"""A text → its tokens, each with the symbol it is aligned by.

Words and punctuation are aligned by what they are; times, dates, numbers and mixed identifiers by their kind, for
their value is noise until shown otherwise. The labelled input is one token with a symbol of its own. Words and numbers
that touch ("IN2=1", "Z1:HI") are tokens of their own.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import regex

from gateway.facts import input_key

Kind = Literal["word", "punct", "number", "time", "date", "id", "input"]
INPUT = "<input>"
NOISE: frozenset[str] = frozenset({"time", "date", "id", "number"})

_INPUT_DIGITS = 2
_PADDED_DIGITS = 3
"""A number of three digits may be an input where zeros lead it."""

_MONTHS = (
    "jan", "january", "feb", "february", "mar", "march", "apr", "april", "may", "jun", "june", "jul", "july", "aug", "august", "sep", "sept",
    "september", "oct", "october", "nov", "november", "dec", "december",
    "januar", "februar", "mär", "mrz", "märz", "mai", "juni", "juli", "okt", "oktober", "dez", "dezember",
    "ene", "enero", "febrero", "marzo", "abr", "abril", "mayo", "junio", "julio", "ago", "agosto", "septiembre", "setiembre", "octubre",
    "noviembre", "dic", "diciembre",
    "січня", "лютого", "березня", "квітня", "травня", "червня", "липня", "серпня", "вересня", "жовтня", "листопада", "грудня",
)  # fmt: skip
"""Whole names: a septic tank and a marsh begin as months do."""
_DAYS = (
    "mon", "monday", "tue", "tues", "tuesday", "wed", "wednesday", "thu", "thurs", "thursday", "fri", "friday",
    "sat", "saturday", "sun", "sunday",
    "mo", "montag", "di", "dienstag", "mi", "mittwoch", "do", "donnerstag", "fr", "freitag", "sa", "samstag", "so", "sonntag",
    "lun", "lunes", "mar", "martes", "mié", "mie", "miércoles", "jue", "jueves", "vie", "viernes", "sáb", "sab", "sábado", "dom", "domingo",
    "пн", "вт", "ср", "чт", "пт", "сб", "нд",
)  # fmt: skip
_MONTH = rf"(?:{'|'.join(_MONTHS)})(?!\p{{L}})\.?"
_DAY = rf"(?:{'|'.join(_DAYS)})(?!\p{{L}})\.?"
_DAY_AND_MONTH = r"(?:\d{1,2}[/.]\d{1,2}\.?|\d{2}-\d{2})"
_CLOCK = r"\d{1,2}[:h]\d{2}"
_TOKEN = regex.compile(
    rf"""
    (?P<date>(?<![\p{{L}}\p{{N}}])(?:
        \d{{4}}-\d{{2}}-\d{{2}}T\d{{2}}:?\d{{2}}(?::?\d{{2}})?(?:Z|[+-]\d{{2}}:?\d{{2}})?
      | \d{{4}}[-/.]\d{{1,2}}[-/.]\d{{1,2}} | \d{{1,2}}[-/.]\d{{1,2}}[-/.](?:\d{{4}}|\d{{2}})
      | (?:{_DAY},?\ )?\d{{1,2}}[\ -]?{_MONTH}(?:[\ ,-]{{1,2}}(?:\d{{4}}|\d{{2}}(?!:)))?
      | {_DAY_AND_MONTH}(?=,?\ {_CLOCK})
      | (?<=(?<!\p{{N}}){_CLOCK},?\ )(?:\d{{1,2}}/\d{{1,2}}|\d{{1,2}}\.\d{{1,2}}\.|\d{{2}}-\d{{2}})
      | {_MONTH}\ \d{{1,2}}(?:,?\ \d{{4}})? | {_DAY}(?=,?\ (?:{_CLOCK}|{_DAY_AND_MONTH},?\ {_CLOCK}))
    )(?![\p{{L}}\p{{N}}]))
  | (?P<time>(?<![\p{{N}}:])\d{{1,2}}(?::|(?-i:h))\d{{2}}(?:(?::|(?-i:m))\d{{2}})?(?:\ ?[ap]m(?!\p{{L}}))?Z?(?!\p{{N}}|:\p{{N}}))
  | (?P<number>(?:(?:(?<![^\s=:(,;])[+\-−]|(?<=\p{{L}})\+))?(?:\d+\.\d+
      |(?<![\p{{L}}\p{{N}}])\d{{1,2}}V\d{{1,2}}(?![\p{{L}}\p{{N}}])|(?<![,\d])\d+,\d+(?![\d,]|\.\d)|\d+))
  | (?P<word>[\p{{L}}\p{{M}}]+(?:['’][\p{{L}}]+)*)
  | (?P<punct>[^\s])
    """,
    regex.VERBOSE | regex.IGNORECASE,
)
_ID = regex.compile(
    r"(?=[A-Za-z0-9]*\d)(?=[A-Za-z0-9]*[A-Za-z])(?:[0-9A-Fa-f]{4,}|[A-Za-z0-9]*(?:[A-Za-z]\d+[A-Za-z]\d|\d[A-Za-z]+\d+[A-Za-z])[A-Za-z0-9]*)"
)


@dataclass(frozen=True, slots=True)
class Token:
    """`start`, `end`: where it stands in the text; `symbol`: what it is aligned by."""

    text: str
    start: int
    end: int
    kind: Kind
    symbol: str


def tokenise(text: str) -> tuple[Token, ...]:
    """All tokens in order."""
    tokens = [_token(found) for found in _TOKEN.finditer(text)]
    return tuple(_identifiers_joined(text, tokens))


def tokenise_with_input(text: str, place: tuple[int, int] | None) -> tuple[Token, ...]:
    """All tokens, that at `place` (from, to) as the input."""
    if place is None:
        return tokenise(text)
    start, end = place
    fine = [_token(found) for found in _TOKEN.finditer(text)]
    before = [token for token in fine if token.end <= start]
    after = [token for token in fine if token.start >= end]
    middle = Token(text[start:end], start, end, "input", INPUT)
    return (*_identifiers_joined(text, before), middle, *_identifiers_joined(text, after))


def find_input_places(texts: Sequence[tuple[str, str]]) -> list[tuple[int, int] | None]:
    """(text, labelled input) → where that input stands; where it stands twice, the place most like the others'."""
    found = [_occurrences(text, wanted) for text, wanted in texts]
    votes: Counter[str] = Counter()
    for places in found:
        votes.update({context for place in places for context in place[2]})
    chosen: list[tuple[int, int] | None] = []
    for places in found:
        best = max(places, key=lambda place: (sum(votes[context] for context in place[2]), -place[0]), default=None)
        chosen.append((best[0], best[1]) if best else None)
    return chosen


def is_small_number(token: Token) -> bool:
    """A whole number that may name an input."""
    digits = len(token.text.lstrip("0")) if len(token.text) == _PADDED_DIGITS else len(token.text)
    return token.kind == "number" and token.text.isdecimal() and digits <= _INPUT_DIGITS


def _occurrences(text: str, wanted: str) -> list[tuple[int, int, tuple[str, ...]]]:
    fine = [_token(found) for found in _TOKEN.finditer(text)]
    places: list[tuple[int, int, tuple[str, ...]]] = []
    for first in range(len(fine)):
        for last in range(first, min(first + 5, len(fine))):
            start, end = fine[first].start, fine[last].end
            if any(token.kind in ("time", "date") for token in fine[first : last + 1]) or " " in text[start:end]:
                break
            if input_key(text[start:end]) == wanted:
                left = fine[first - 1].symbol if first else "^"
                right = fine[last + 1].symbol if last + 1 < len(fine) else "$"
                places.append((start, end, (f"{left} _", f"{left} _", f"_ {right}")))
    return places


def _token(found: "regex.Match[str]") -> Token:
    kind = found.lastgroup or "punct"
    text = found.group()
    symbol = text.casefold() if kind in ("word", "punct") else f"<{kind}>"
    return Token(text, found.start(), found.end(), kind, symbol)  # type: ignore[arg-type]  # the groups are the kinds


def _identifiers_joined(text: str, tokens: Sequence[Token]) -> list[Token]:
    """Letters and digits in turn ("7F3A", "K4Q9") are one identifier."""
    joined: list[Token] = []
    at = 0
    while at < len(tokens):
        end = at
        while (
            end + 1 < len(tokens)
            and tokens[end + 1].start == tokens[end].end
            and tokens[end + 1].kind in ("word", "number")
        ):
            end += 1
        start_at, end_at = tokens[at].start, tokens[end].end
        if end > at and tokens[at].kind in ("word", "number") and _ID.fullmatch(text[start_at:end_at]):
            joined.append(Token(text[start_at:end_at], start_at, end_at, "id", "<id>"))
            at = end + 1
        else:
            joined.append(tokens[at])
            at += 1
    return joined
