"""The pieces of a template → the source of one regular expression over folded text.

Folded text has single spaces, no white space at its ends and only case-folded letters (`gateway.rules.folded_text`), so the
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
from gateway.rules.clock_time import WRITTEN as CLOCK_WRITTEN
from gateway.rules.template import Field, Gap, Piece, Star, Word

BORDER = r"(?!(?<=\p{L})\p{L}|(?<=\p{N})\p{N})"
"""No word and no number is cut here: what stands before and behind are not both letters, nor both digits."""

# beside a literal a number takes what is there ("{volts}V" in "12.6V"); with nothing beside it, only a number that ends there:
# no digit or decimal point may follow (not 12.6 of "12.6.3"), no letter (not 12 of "12V")
_LOOSE_NUMBER = r"[+\-−]?(?:\d+(?:[.,]\d+)?|[.,]\d+)"
_WHOLE_NUMBER = r"[+\-−]?(?:\d*\.\d+(?!\.?\d)|\d*,\d+(?![.,]?\d)|\d+(?![.,]?\d))(?![\p{L}\p{N}])"
_ENDS_WORD = r"(?![\p{L}\p{N}])"
# not within a word or number, nor behind "digit point", which would take the 6 of "12.6"
_NUMBER_STARTS = r"(?<![\p{L}\p{N}])(?<!\p{N}\.)"
_NAME = r"[\p{L}\p{M}\p{N}_-]"
_ANY_WORD_STATE = r"[^\s\p{P}]+"


def whole_source(pieces: Sequence[Piece], states: Iterable[str]) -> str:
    """Pieces → an expression for `fullmatch`. `states`: the folded state words; none: any one word."""
    return _source(_strip_ends(pieces), tuple(states))


def anywhere_source(pieces: Sequence[Piece], states: Iterable[str]) -> str:
    """Pieces → an expression for `finditer`; '' where nothing is left: stars at the ends say nothing here."""
    inner = _strip_ends(pieces, stars=True)
    if not inner:
        return ""
    return f"{BORDER}{_source(inner, tuple(states))}{BORDER}"


def whole_source_with_stars(pieces: Sequence[Piece], states: Iterable[str]) -> str:
    """The same as `whole_source`, with what each star takes as a group: `star1`, `star2` …; to say what a rule passes over."""
    inner = _strip_ends(pieces)
    source, place = "", 0
    stars = [at for at, piece in enumerate(inner) if isinstance(piece, Star)]
    for number, star in enumerate(stars, start=1):
        source += _segment_source(inner, place, _end_before(inner, star), tuple(states))
        source += f"(?P<star{number}>{_star_source(inner, star)})"
        place = _start_after(inner, star)
    return source + _segment_source(inner, place, len(inner), tuple(states))


def prefix_source(pieces: Sequence[Piece], states: Iterable[str]) -> str:
    """Pieces → an expression for `match`: how far these pieces reach into the text; to say where a rule stops."""
    return _source(pieces, tuple(states))


def _strip_ends(pieces: Sequence[Piece], *, stars: bool = False) -> list[Piece]:
    inner = list(pieces)
    stripped = (Gap, Star) if stars else (Gap,)
    while inner and isinstance(inner[0], stripped):
        inner.pop(0)
    while inner and isinstance(inner[-1], stripped):
        inner.pop()
    return inner


def _source(pieces: Sequence[Piece], states: tuple[str, ...]) -> str:
    """What stands before the first star, between two stars each an atomic group `(?>…)`, and behind the last one."""
    stars = [at for at, piece in enumerate(pieces) if isinstance(piece, Star)]
    if not stars:
        return _segment_source(pieces, 0, len(pieces), states)
    head = _segment_source(pieces, 0, _end_before(pieces, stars[0]), states)
    parts = [f"(?>{head}{_lookahead_before(pieces, stars[0])})" if head else ""]
    for star, following in pairwise(stars):
        body = _segment_source(pieces, _start_after(pieces, star), _end_before(pieces, following), states)
        parts.append(f"(?>{_star_source(pieces, star)}{body}{_lookahead_before(pieces, following)})")
    tail = _segment_source(pieces, _start_after(pieces, stars[-1]), len(pieces), states)
    parts.append(_star_source(pieces, stars[-1]) + tail)
    return "".join(parts)


def _end_before(pieces: Sequence[Piece], star: int) -> int:
    """Where the segment before a star ends: a gap beside the star belongs to the star, for it may be missing."""
    return star - 1 if star and isinstance(pieces[star - 1], Gap) else star


def _start_after(pieces: Sequence[Piece], star: int) -> int:
    """Where the segment behind a star begins."""
    return star + 2 if star + 1 < len(pieces) and isinstance(pieces[star + 1], Gap) else star + 1


def _gaps_beside(pieces: Sequence[Piece], star: int) -> tuple[bool, bool]:
    return _end_before(pieces, star) != star, _start_after(pieces, star) != star + 1


def _star_source(pieces: Sequence[Piece], star: int) -> str:
    """The star with the white space beside it."""
    before, after = _gaps_beside(pieces, star)
    if _start_after(pieces, star) >= len(pieces):
        return r"(?: .*)?" if before else r".*"
    match before, after:
        case True, True:
            return r" (?:.*? )??"
        case True, False:
            return rf"(?:{BORDER}| .*?)"
        case False, True:
            return rf"(?:{BORDER}|.*? )"
    return r".*?"


def _lookahead_before(pieces: Sequence[Piece], star: int) -> str:
    """What must follow before a star, known inside the atomic group so that the group ends in the right place."""
    before, after = _gaps_beside(pieces, star)
    if not before:
        return ""
    if after or star + 1 == len(pieces):
        return r"(?= |$)"
    return rf"(?={BORDER}| )"


def _segment_source(pieces: Sequence[Piece], start: int, end: int, states: tuple[str, ...]) -> str:
    parts = []
    for at in range(start, end):
        piece = pieces[at]
        match piece:
            case Word():
                parts.append(regex.escape(piece.text.casefold(), special_only=True, literal_spaces=True))
            case Gap():
                parts.append(" ")
            case Field():
                parts.append(
                    _field_source(piece.name, states, _neighbour_kind(pieces, at - 1), _neighbour_kind(pieces, at + 1))
                )
    return "".join(parts)


def _neighbour_kind(pieces: Sequence[Piece], at: int) -> Literal["edge", "literal"]:
    """Whether a neighbour leaves open where the field ends; a literal does not."""
    if 0 <= at < len(pieces) and isinstance(pieces[at], Word | Field):
        return "literal"
    return "edge"


def _field_source(name: str, states: tuple[str, ...], left: str, right: str) -> str:
    open_left, open_right = left == "edge", right == "edge"
    number_field = NUMBER_FIELDS.get(name)
    if number_field is not None:
        number = _WHOLE_NUMBER if open_right else _LOOSE_NUMBER
        if number_field.written and open_right:
            number = f"{number_field.written}{_ENDS_WORD}|{number}"
        return f"{_NUMBER_STARTS if open_left else ''}(?P<{name}>{number})"
    if name == "time":
        return f"{_NUMBER_STARTS if open_left else ''}(?P<time>{CLOCK_WRITTEN}){_ENDS_WORD if open_right else ''}"
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
    # the first alternative that fits is taken: "low water" must be tried before "low"
    longest_first = sorted(states, key=lambda word: (-len(word), word))
    return "|".join(regex.escape(word, special_only=True, literal_spaces=True) for word in longest_first)
