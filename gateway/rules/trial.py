"""One rule tried on one text → whether it fits and, in plain words, why not.

A template that does not fit is tried piece by piece from its start, to say where it stops and what it expected there.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import regex

from gateway.facts import NUMBER_FIELDS
from gateway.rules.compiled_rule import CompiledRule
from gateway.rules.folded_text import FoldedText
from gateway.rules.template import Field, Gap, Piece, Star, Word
from gateway.rules.template_regex import prefix_source

_FIELD_WORDS = {
    "input": "an input (one word or number)",
    "state": "a state word",
    "time": "a time of day",
    "word": "a word",
    **{name: entry.expected for name, entry in NUMBER_FIELDS.items()},
}
_MOST_SHOWN = 24
"""Characters of the text shown where a rule stops."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """How one rule went. `fields`: field → what it took, as it stood in the text (of the first place it stands); `passed_over`: the words
    that its stars took."""

    rule: int
    fitted: bool
    why: str
    fields: Mapping[str, str] = field(default_factory=dict)
    passed_over: tuple[str, ...] = ()
    timed_out: bool = False


def not_tried(rule: CompiledRule, winner: int) -> Trial:
    """The trial of a rule below one that fitted: it was not tried."""
    return Trial(rule=rule.number, fitted=False, why=f"not tried: rule {winner} fits and comes first")


def try_rule(rule: CompiledRule, text: FoldedText, limit_s: float) -> Trial:
    """Tries one rule on one text and says how it went."""
    if rule.broken:
        return Trial(rule=rule.number, fitted=False, why=f"cannot fit: {rule.broken}")
    matches = rule.find_matches(text, limit_s)
    if matches == "timed-out":
        ms = round(limit_s * 1000)
        return Trial(
            rule=rule.number, fitted=False, timed_out=True, why=f"given up: its pattern took longer than {ms} ms"
        )
    fitting = [match for match in matches if rule.reading_of(text, match) is not None]
    if fitting:
        many = f" at {len(fitting)} places" if len(fitting) > 1 else ""
        taken = _fields_taken(rule, text, fitting[0])
        passed_over = () if rule.is_anywhere else _taken_by_stars(rule, text, limit_s)
        return Trial(rule=rule.number, fitted=True, why=f"fits{many}", fields=taken, passed_over=passed_over)
    if matches:
        return Trial(
            rule=rule.number,
            fitted=False,
            why=_why_misread(rule, matches[0]),
            fields=_fields_taken(rule, text, matches[0]),
        )
    if rule.is_anywhere:
        return Trial(rule=rule.number, fitted=False, why="does not stand anywhere in the text")
    return Trial(rule=rule.number, fitted=False, why=_where_it_say_stop(rule, text, limit_s))


def _fields_taken(rule: CompiledRule, text: FoldedText, match: "regex.Match[str]") -> dict[str, str]:
    taken = {}
    for name, value in match.groupdict().items():
        if value is not None:
            taken[name] = text.as_it_stood(*match.span(name)) if rule.pieces is not None else value
    return taken


def _taken_by_stars(rule: CompiledRule, text: FoldedText, limit_s: float) -> tuple[str, ...]:
    return tuple(words for span in rule.star_spans(text, limit_s) if (words := text.as_it_stood(*span).strip()))


def _why_misread(rule: CompiledRule, match: "regex.Match[str]") -> str:
    taken = {name: value for name, value in match.groupdict().items() if value is not None}
    if taken.get("state") and rule.states:
        return f"'{taken['state']}' is neither an active nor an idle word: expected {_one_of(rule.states)}"
    if rule.table.means in ("input", "level") and "input" not in taken and rule.table.input is None:
        return "fits, but says no input"
    if rule.table.means == "input":
        return "fits, but says neither active nor idle"
    return "fits, but a number in it cannot be read"


def _where_it_say_stop(rule: CompiledRule, text: FoldedText, limit_s: float) -> str:
    if rule.pieces is None:
        return "the regex does not fit the whole text"
    reached = 0
    for at, piece in enumerate(rule.pieces):
        if isinstance(piece, Gap | Star):
            continue
        end = _end_of_pieces(rule, at, text, limit_s)
        if end is None and any(isinstance(before, Star) for before in rule.pieces[max(at - 2, 0) : at]):
            return _say_missing(text, reached, _expected_words(piece, rule))
        if end is None:
            return _say_stop(text, reached, _expected_words(piece, rule))
        reached = end
    return _say_stop(text, reached, "nothing more")


def _end_of_pieces(rule: CompiledRule, last: int, text: FoldedText, limit_s: float) -> int | None:
    """Where the pieces up to and with `last` end in the text; None where they do not stand there."""
    pieces = rule.pieces or ()
    ends_whole = r"(?!\S)" if pieces[last + 1 : last + 2] == (Gap(),) else ""
    pattern = regex.compile(prefix_source(pieces[: last + 1], rule.states) + ends_whole, regex.DOTALL)
    try:
        match = pattern.match(text.folded, timeout=limit_s)
    except TimeoutError:
        return None
    return match.end() if match is not None else None


def _expected_words(piece: Piece, rule: CompiledRule) -> str:
    if isinstance(piece, Field):
        return _one_of(rule.states) if piece.name == "state" and rule.states else _FIELD_WORDS[piece.name]
    return piece.text if isinstance(piece, Word) else "anything"


def _one_of(states: Mapping[str, object]) -> str:
    return " or ".join(word.upper() for word in states)


def _say_missing(text: FoldedText, reached: int, expected: str) -> str:
    before = text.as_it_stood(0, reached).strip()
    return f"expected {expected} somewhere after '{before}'" if before else f"expected {expected} somewhere in the text"


def _say_stop(text: FoldedText, reached: int, expected: str) -> str:
    ahead = text.as_it_stood(reached, len(text.folded)).strip()
    if not ahead:
        return f"the text ends too early: expected {expected}"
    first = ahead.split()[0]
    return f"stops at '{first[:_MOST_SHOWN]}': expected {expected}"
