"""What the stars of the rule that fitted a text took, and another whole-text rule would read → read too, or said to be read by nobody.

"LINE 1 MADE, FLOAT 2 DRY": a rule that ends in a `*` fits, and what it took told of another input; it was lost once. What has the form of a
text about an input there, with a state that nobody has listed ("LINE 2 JAMMED"), makes the whole text one that is passed on.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import regex

from gateway.facts import Reading
from gateway.rules.compiled_rule import CompiledRule, compile_rule
from gateway.rules.folded_text import FoldedText
from gateway.rules.rule_index import RuleIndex, index_rules
from gateway.rules.template import Field, Word

Span = tuple[int, int]
TELLS_OF_NOTHING = ("alive", "ignore")
WORDS_ALONE = 2
"""A rule without a field stands in other words only where it is of so many: "HIGH" alone may be said of anything."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Swallowed:
    """`listed`: whole-text templates with words of their own, at any place; `stateless`: those about inputs, with any word as the state."""

    listed: RuleIndex
    stateless: RuleIndex

    def read(
        self, winner: CompiledRule, whole: Reading, text: FoldedText, limit_s: float
    ) -> tuple[list[Reading], bool]:
        """What else stands in what the winner's stars took, once for each input; whether some of it nobody can read."""
        candidates, unread = self.listed.candidates(text), self.stateless.candidates(text)
        if whole.means == "ignore" or not (candidates or unread):
            return [], False
        left = list(winner.star_spans(text, limit_s))
        found: dict[tuple[str, str | None], tuple[int, Reading]] = {}
        for rule in candidates:
            for match in _within(rule, text, left, limit_s):
                reading = rule.reading_of(text, match)
                if reading is not None:
                    found[reading.means, reading.input] = match.start(), reading
                    left = _without(left, match.span())
        found.pop((whole.means, whole.input), None)
        strange = (match for rule in unread for match in _within(rule, text, left, limit_s))
        others = [reading for _, reading in sorted(found.values(), key=lambda place: place[0])]
        return others, any(any(map(str.isdigit, match["input"])) for match in strange)


def index_swallowed(rules: Sequence[CompiledRule]) -> Swallowed:
    """The rules of one controller."""
    worded = [rule for rule in rules if _may_stand_in_other_words(rule)]
    with_state = [rule for rule in worded if {Field("input"), Field("state")} <= set(rule.pieces or ()) and rule.states]
    return Swallowed(
        listed=index_rules(_at_every_place(rule) for rule in worded),
        stateless=index_rules(_at_every_place(rule, active=(), idle=()) for rule in with_state),
    )


def _may_stand_in_other_words(rule: CompiledRule) -> bool:
    if rule.broken or rule.is_anywhere or rule.pieces is None or rule.table.means in TELLS_OF_NOTHING:
        return False
    words = [piece for piece in rule.pieces if isinstance(piece, Word) and any(map(str.isalpha, piece.text))]
    fields = any(isinstance(piece, Field) for piece in rule.pieces)
    return len(words) >= (1 if fields else WORDS_ALONE)


def _at_every_place(rule: CompiledRule, **changed: object) -> CompiledRule:
    return compile_rule(rule.table.model_copy(update={"scope": "anywhere", **changed}), rule.number)


def _within(
    rule: CompiledRule, text: FoldedText, spans: Sequence[Span], limit_s: float
) -> Sequence["regex.Match[str]"]:
    """Where the rule stands within the spans; nowhere where it runs over its time."""
    matches = rule.find_matches(text, limit_s)
    return () if matches == "timed-out" else [match for match in matches if _is_within(match, spans)]


def _is_within(match: "regex.Match[str]", spans: Sequence[Span]) -> bool:
    return any(start <= match.start() and match.end() <= end for start, end in spans)


def _without(spans: Sequence[Span], taken: Span) -> list[Span]:
    """The spans without what was taken out of one of them."""
    pieces = []
    for start, end in spans:
        cut = ((start, taken[0]), (taken[1], end)) if start <= taken[0] and taken[1] <= end else ((start, end),)
        pieces += [piece for piece in cut if piece[0] < piece[1]]
    return pieces
