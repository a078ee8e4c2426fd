"""Two rules → whether the earlier one always takes what the later one would.

Said only when sure: texts are made from the later template, with every state word, several inputs and numbers, and
unlikely fillings for its stars; the earlier rule hides it if it reads every one of them.
"""

from collections.abc import Iterator, Sequence
from functools import lru_cache
from math import prod

from gateway.facts import NUMBER_FIELDS
from gateway.rules.book import LIMIT_S
from gateway.rules.compiled import CompiledRule, compile_rule
from gateway.rules.folded import FoldedText
from gateway.rules.template import Field, Gap, Piece, Star, Word
from gateway.settings.models import RuleTable

_STAR_FILLINGS = ("", "qzx", "73", "#~!", "ünd 5,5 x-9\nq", "-")
_INPUTS = ("1", "07", "gully-zw", "A_3")
_NUMBERS = ("12.6", "-3,5", "0", "+77")
_WORDS = ("qzw", "5%x", "#")
_STATES = ("qzv", "8")
_MOST_TEXTS = 2000


def hides(earlier: RuleTable, later: RuleTable) -> bool:
    """Whether `later`, standing below `earlier`, can never get a text; False where that is not sure."""
    if earlier.scope != "whole" or later.scope != "whole":
        return False
    first, second = _compiled(earlier), _compiled(later)
    if first.broken or second.broken:
        return False
    if second.pieces is None:
        return earlier.regex == later.regex and _states_within(second, first) and earlier.means == later.means
    some = False
    for text in _texts(second):
        if _reads(second, text):
            if not _reads(first, text):
                return False
            some = True
    return some


@lru_cache(maxsize=1024)
def _compiled(table: RuleTable) -> CompiledRule:
    return compile_rule(table, 1)


def _states_within(inner: CompiledRule, outer: CompiledRule) -> bool:
    return set(inner.states) <= set(outer.states)


def _reads(rule: CompiledRule, text: str) -> bool:
    folded = FoldedText.of(text)
    matches = rule.matches(folded, LIMIT_S)
    return matches != "timed-out" and any(rule.reading(folded, match) is not None for match in matches)


def _texts(rule: CompiledRule) -> Iterator[str]:
    """Every way to fill the template or, where there are too many, an even spread of them."""
    choices = [_fillings(piece, rule) for piece in rule.pieces or ()]
    many = prod(len(fillings) for fillings in choices)
    for number in range(0, many, many // _MOST_TEXTS + 1):
        rest, parts = number, []
        for fillings in reversed(choices):
            rest, which = divmod(rest, len(fillings))
            parts.append(fillings[which])
        yield "".join(reversed(parts))


def _fillings(piece: Piece, rule: CompiledRule) -> Sequence[str]:
    match piece:
        case Word():
            return (piece.text,)
        case Gap():
            return (" ",)
        case Star():
            return _STAR_FILLINGS
        case Field(name="input"):
            return _INPUTS
        case Field(name="state"):
            return tuple(rule.states) or _STATES
        case Field(name="word"):
            return _WORDS
        case Field(name=name) if name in NUMBER_FIELDS:
            return _NUMBERS
    return ("",)
