"""One rule tried on one text → whether it fits and, in plain words, why not.

A template that does not fit is tried piece by piece from its start, to say where it stops and what it expected there.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import regex

from gateway.facts import NUMBER_FIELDS
from gateway.rules.compiled import CompiledRule
from gateway.rules.folded import FoldedText
from gateway.rules.pattern import prefix_source
from gateway.rules.template import Field, Gap, Piece, Star, Word

_FIELD_WORDS = {
    "input": "an input (one word or number)",
    "state": "a state word",
    "word": "a word",
    **{name: entry.expected for name, entry in NUMBER_FIELDS.items()},
}
_SHOWN = 24
"""Characters of the text shown where a rule stops."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """How one rule went. `fields`: field → what it took, as it stood in the text (of the first place it stands)."""

    rule: int
    fitted: bool
    why: str
    fields: Mapping[str, str] = field(default_factory=dict)
    timed_out: bool = False


def not_tried(rule: CompiledRule, winner: int) -> Trial:
    """An earlier whole-text rule fitted."""
    return Trial(rule=rule.number, fitted=False, why=f"not tried: rule {winner} fits and comes first")


def try_rule(rule: CompiledRule, text: FoldedText, limit_s: float) -> Trial:
    """Tries it and says how it went."""
    if rule.broken:
        return Trial(rule=rule.number, fitted=False, why=f"cannot fit: {rule.broken}")
    matches = rule.matches(text, limit_s)
    if matches == "timed-out":
        ms = round(limit_s * 1000)
        return Trial(
            rule=rule.number, fitted=False, timed_out=True, why=f"given up: its pattern took longer than {ms} ms"
        )
    fitting = [match for match in matches if rule.reading(text, match) is not None]
    if fitting:
        many = f" at {len(fitting)} places" if len(fitting) > 1 else ""
        taken = _fields(rule, text, fitting[0])
        return Trial(rule=rule.number, fitted=True, why=f"fits{many}", fields=taken)
    if matches:
        return Trial(
            rule=rule.number, fitted=False, why=_misread(rule, matches[0]), fields=_fields(rule, text, matches[0])
        )
    if rule.anywhere:
        return Trial(rule=rule.number, fitted=False, why="does not stand anywhere in the text")
    return Trial(rule=rule.number, fitted=False, why=_where_it_stops(rule, text, limit_s))


def _fields(rule: CompiledRule, text: FoldedText, match: "regex.Match[str]") -> dict[str, str]:
    taken = {}
    for name, value in match.groupdict().items():
        if value is not None:
            taken[name] = text.as_it_stood(*match.span(name)) if rule.pieces is not None else value
    return taken


def _misread(rule: CompiledRule, match: "regex.Match[str]") -> str:
    given = {name: value for name, value in match.groupdict().items() if value is not None}
    if "state" in given and given["state"] and rule.states:
        return f"'{given['state']}' is neither an active nor an idle word: expected {_one_of(rule.states)}"
    if rule.table.means == "input" and "input" not in given and rule.table.input is None:
        return "fits, but says no input"
    if rule.table.means == "input":
        return "fits, but says neither active nor idle"
    return "fits, but a number in it cannot be read"


def _where_it_stops(rule: CompiledRule, text: FoldedText, limit_s: float) -> str:
    if rule.pieces is None:
        return "the regex does not fit the whole text"
    reached = 0
    for at, piece in enumerate(rule.pieces):
        if isinstance(piece, Gap | Star):
            continue
        end = _reach(rule, at, text, limit_s)
        if end is None and any(isinstance(before, Star) for before in rule.pieces[max(at - 2, 0) : at]):
            return _missing(text, reached, _expected(piece, rule))
        if end is None:
            return _stops(text, reached, _expected(piece, rule))
        reached = end
    return _stops(text, reached, "nothing more")


def _reach(rule: CompiledRule, last: int, text: FoldedText, limit_s: float) -> int | None:
    """Where the pieces up to and with `last` end in the text; None where they do not stand there."""
    pieces = rule.pieces or ()
    ends_whole = r"(?!\S)" if pieces[last + 1 : last + 2] == (Gap(),) else ""
    pattern = regex.compile(prefix_source(pieces[: last + 1], rule.states) + ends_whole, regex.DOTALL)
    try:
        found = pattern.match(text.folded, timeout=limit_s)
    except TimeoutError:
        return None
    return found.end() if found is not None else None


def _expected(piece: Piece, rule: CompiledRule) -> str:
    if isinstance(piece, Field):
        return _one_of(rule.states) if piece.name == "state" and rule.states else _FIELD_WORDS[piece.name]
    return piece.text if isinstance(piece, Word) else "anything"


def _one_of(states: Mapping[str, object]) -> str:
    return " or ".join(word.upper() for word in states)


def _missing(text: FoldedText, reached: int, expected: str) -> str:
    before = text.as_it_stood(0, reached).strip()
    return f"expected {expected} somewhere after '{before}'" if before else f"expected {expected} somewhere in the text"


def _stops(text: FoldedText, reached: int, expected: str) -> str:
    rest = text.as_it_stood(reached, len(text.folded)).strip()
    if not rest:
        return f"the text ends too early: expected {expected}"
    first = rest.split()[0]
    return f"stops at '{first[:_SHOWN]}': expected {expected}"
