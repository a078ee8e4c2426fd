"""The pieces of a template → the source of one regular expression over folded text.

Folded text has single spaces, no white space at its ends and only case-folded letters (`gateway.rules.folded`), so the
expression needs neither flags nor `\\s`.

A `*` takes as little as it can and never takes it back: what stands between two stars is an atomic group, matched where
it first stands. The first place leaves the most room for what follows, so nothing is lost, and the work grows with the
text times the template instead of with a power of the text.

Words stay whole: a space beside a `*` may be missing only where the `*` takes nothing and no two letters or two digits
would touch; a field beside a `*`, a space or the end of an "anywhere" rule takes whole words and whole numbers.
"""

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Literal

import regex

from gateway.facts import NUMBER_FIELDS
from gateway.rules.template import Field, Gap, Piece, Star, Word

BORDER = r"(?!(?<=\p{L})\p{L}|(?<=\p{N})\p{N})"
"""No word and no number is cut here."""

_LOOSE_NUMBER = r"[+\-−]?(?:\d+(?:[.,]\d+)?|[.,]\d+)"
_WHOLE_NUMBER = r"[+\-−]?(?:\d*\.\d+(?!\.?\d)|\d*,\d+(?![.,]?\d)|\d+(?![.,]?\d))(?![\p{L}\p{N}])"
_ENDS_WORD = r"(?![\p{L}\p{N}])"
_NUMBER_STARTS = r"(?<![\p{L}\p{N}])(?<!\p{N}\.)"
_NAME = r"[\p{L}\p{M}\p{N}_-]"
_ANY_WORD_STATE = r"[^\s\p{P}]+"


def whole_source(pieces: Sequence[Piece], states: Iterable[str]) -> str:
    """For `fullmatch`. `states`: the folded state words; none: any one word."""
    return _source(_ends_stripped(pieces), tuple(states))


def anywhere_source(pieces: Sequence[Piece], states: Iterable[str]) -> str:
    """For `finditer`: stars at the ends say nothing here."""
    inner = _ends_stripped(pieces, stars=True)
    if not inner:
        return ""
    return f"{BORDER}{_source(inner, tuple(states))}{BORDER}"


def prefix_source(pieces: Sequence[Piece], states: Iterable[str]) -> str:
    """For `match`: how far these pieces reach into the text; to say where a rule stops."""
    return _source(pieces, tuple(states))


def _ends_stripped(pieces: Sequence[Piece], *, stars: bool = False) -> list[Piece]:
    inner = list(pieces)
    idle = (Gap, Star) if stars else (Gap,)
    while inner and isinstance(inner[0], idle):
        inner.pop(0)
    while inner and isinstance(inner[-1], idle):
        inner.pop()
    return inner


def _source(pieces: Sequence[Piece], states: tuple[str, ...]) -> str:
    stars = [at for at, piece in enumerate(pieces) if isinstance(piece, Star)]
    if not stars:
        return _segment(pieces, 0, len(pieces), states)
    head = _segment(pieces, 0, _before(pieces, stars[0]), states)
    parts = [f"(?>{head}{_lookahead(pieces, stars[0])})" if head else ""]
    for star, following in pairwise(stars):
        body = _segment(pieces, _after(pieces, star), _before(pieces, following), states)
        parts.append(f"(?>{_star(pieces, star)}{body}{_lookahead(pieces, following)})")
    tail = _segment(pieces, _after(pieces, stars[-1]), len(pieces), states)
    parts.append(_star(pieces, stars[-1]) + tail)
    return "".join(parts)


def _before(pieces: Sequence[Piece], star: int) -> int:
    return star - 1 if star and isinstance(pieces[star - 1], Gap) else star


def _after(pieces: Sequence[Piece], star: int) -> int:
    return star + 2 if star + 1 < len(pieces) and isinstance(pieces[star + 1], Gap) else star + 1


def _gaps(pieces: Sequence[Piece], star: int) -> tuple[bool, bool]:
    return _before(pieces, star) != star, _after(pieces, star) != star + 1


def _star(pieces: Sequence[Piece], star: int) -> str:
    """The star with the white space beside it."""
    before, after = _gaps(pieces, star)
    first, last = _before(pieces, star) == 0, _after(pieces, star) >= len(pieces)
    if first and last:
        return r".*"
    if last:
        return r"(?: .*)?" if before else r".*"
    if first:
        return r"(?:.*? )??" if after else r".*?"
    match before, after:
        case True, True:
            return r" (?:.*? )??"
        case True, False:
            return rf"(?:{BORDER}| .*?)"
        case False, True:
            return rf"(?:{BORDER}|.*? )"
    return r".*?"


def _lookahead(pieces: Sequence[Piece], star: int) -> str:
    """What must follow before a star, known inside the atomic group so that the group ends in the right place."""
    before, after = _gaps(pieces, star)
    if not before:
        return ""
    if after or star + 1 == len(pieces):
        return r"(?= |$)"
    return rf"(?={BORDER}| )"


def _segment(pieces: Sequence[Piece], start: int, end: int, states: tuple[str, ...]) -> str:
    parts = []
    for at in range(start, end):
        piece = pieces[at]
        match piece:
            case Word():
                parts.append(regex.escape(piece.text.casefold(), special_only=True, literal_spaces=True))
            case Gap():
                parts.append(" ")
            case Field():
                parts.append(_field(piece.name, states, _loose(pieces, at - 1), _loose(pieces, at + 1)))
    return "".join(parts)


def _loose(pieces: Sequence[Piece], at: int) -> Literal["edge", "literal"]:
    """Whether a neighbour leaves open where the field ends; a literal does not."""
    if 0 <= at < len(pieces) and isinstance(pieces[at], Word | Field):
        return "literal"
    return "edge"


def _field(name: str, states: tuple[str, ...], left: str, right: str) -> str:
    open_left, open_right = left == "edge", right == "edge"
    number_field = NUMBER_FIELDS.get(name)
    if number_field is not None:
        number = _WHOLE_NUMBER if open_right else _LOOSE_NUMBER
        if number_field.written and open_right:
            number = f"{number_field.written}{_ENDS_WORD}|{number}"
        return f"{_NUMBER_STARTS if open_left else ''}(?P<{name}>{number})"
    if name == "input":
        first, last = f"(?<!{_NAME})", f"(?!{_NAME})"
        core = f"{_NAME}+"
    elif name == "word":
        first, last = r"(?<!\S)", r"(?!\S)"
        core = r"\S+"
    else:
        first = last = BORDER
        core = _alternatives(states) if states else _ANY_WORD_STATE
    return f"{first if open_left else ''}(?P<{name}>{core}){last if open_right else ''}"


def _alternatives(states: tuple[str, ...]) -> str:
    longest_first = sorted(states, key=lambda word: (-len(word), word))
    return "|".join(regex.escape(word, special_only=True, literal_spaces=True) for word in longest_first)
