"""What no text can ever reach: a rule that an earlier one always hides, an input that no rule tells of.

Said only when sure. Whether a rule hides another is tried: texts are made from the later template, with every state word, several inputs
and numbers, and unlikely fillings for its stars; the earlier rule hides it if it reads every one of them.
"""

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from math import prod
from typing import Literal

import regex

from gateway.facts import NUMBER_FIELDS, FloatState, input_key
from gateway.rules.compiled_rule import RULE_LIMIT_S, CompiledRule, compile_rule
from gateway.rules.folded_text import FoldedText
from gateway.rules.template import Field, Gap, Piece, Star, Word
from gateway.settings.controller_tables import RuleTable

_STAR_FILLINGS = ("", "qzx", "73", "#~!", "ünd 5,5 x-9\nq", "-")
_INPUT_FILLINGS = ("1", "07", "gully-zw", "A_3")
_NUMBER_FILLINGS = ("12.6", "-3,5", "0", "+77")
_WORD_FILLINGS = ("qzw", "5%x", "#")
_TIME_FILLINGS = ("14:05", "0717")
_STATE_FILLINGS = ("qzv", "8")
_MOST_TEXTS = 2000
_ONE_WORD = regex.compile(r"[\p{L}\p{M}\p{N}_-]+")
_INPUT_GROUP = regex.compile(r"\(\?P?<input>")
_STATE_GROUP = regex.compile(r"\(\?P?<state>")


def hides_rule(earlier: RuleTable, later: RuleTable) -> bool:
    """Whether `later`, standing below `earlier`, can never get a text; False where that is not sure."""
    if earlier.scope != "whole" or later.scope != "whole":
        return False
    first, second = _compile_once(earlier), _compile_once(later)
    if second.broken:
        return False
    if second.pieces is None:
        return earlier.regex == later.regex and set(second.states) <= set(first.states) and earlier.means == later.means
    own_texts = (text for text in sample_texts(second) if _reads(second, text))
    some_text = next(own_texts, None)  # one by one: mostly the first that is not hidden ends it
    return some_text is not None and _reads(first, some_text) and all(_reads(first, text) for text in own_texts)


@lru_cache(maxsize=1024)
def _compile_once(table: RuleTable) -> CompiledRule:
    return compile_rule(table, 1)


def _reads(rule: CompiledRule, text: str) -> bool:
    folded = FoldedText.of(text)
    matches = rule.find_matches(folded, RULE_LIMIT_S)
    return matches != "timed-out" and any(rule.reading_of(folded, match) is not None for match in matches)


def sample_texts(rule: CompiledRule) -> Iterator[str]:
    """Every way to fill the template or, where there are too many, an even spread of them."""
    if not rule.pieces:
        return
    choices = [_fillings(piece, rule) for piece in rule.pieces]
    count = prod(len(fillings) for fillings in choices)
    for number in range(0, count, count // _MOST_TEXTS + 1):
        # the number, written in digits of as many values as each piece has fillings, says which filling each piece gets
        quotient, parts = number, []
        for fillings in reversed(choices):
            quotient, choice = divmod(quotient, len(fillings))
            parts.append(fillings[choice])
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
            return _INPUT_FILLINGS
        case Field(name="state"):
            return tuple(rule.states) or _STATE_FILLINGS
        case Field(name="time"):
            return _TIME_FILLINGS
        case Field(name="word"):
            return _WORD_FILLINGS
        case Field(name=name) if name in NUMBER_FIELDS:
            return _NUMBER_FILLINGS
    return ("",)


def can_tell_of_input(
    rules: Iterable[RuleTable], input_name: int | str, means: Literal["input", "level"] = "input"
) -> bool:
    """Whether any text could tell of an input: one of the rules of that kind reads or fixes it."""
    return any(rule.means == means and _can_tell(rule, input_name) for rule in rules)


def states_told_of(rules: Iterable[RuleTable], input_name: int | str) -> frozenset[FloatState]:
    """Which states of an input any text could tell: a float of which none says `idle` is never heard to be over."""
    return frozenset(state for rule in rules if _can_tell(rule, input_name) for state in _states_of(rule))


def _states_of(rule: RuleTable) -> Iterator[FloatState]:
    """The states that a rule can read: of its words, or the one that is fixed where no word is read."""
    compiled = compile_rule(rule, 1)
    if compiled.pieces is None:
        # the group of a regex may take part or not
        yield from compiled.states.values() if _STATE_GROUP.search(compiled.source) else ()
        yield from () if rule.state is None else (rule.state,)
    elif Field("state") in compiled.pieces and compiled.states:
        yield from compiled.states.values()
    elif rule.state is not None:
        yield rule.state


def _can_tell(rule: RuleTable, input_name: int | str) -> bool:
    compiled = compile_rule(rule, 1)
    if compiled.broken:
        return False
    if compiled.pieces is None and _INPUT_GROUP.search(compiled.source):
        return True  # what the group of a regex can take is not worked out
    if compiled.pieces is not None and Field("input") in compiled.pieces:
        return _ONE_WORD.fullmatch(input_key(input_name)) is not None
    return rule.input is not None and input_key(rule.input) == input_key(input_name)
