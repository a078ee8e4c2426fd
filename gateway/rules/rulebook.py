"""A text and a controller's rules → what was read, by which rule, and why not by the others.

In: `RuleTable`s in the order of the file; rule numbers count from 1. Whole-text rules are tried in order and the first
that fits wins; every "anywhere" rule applies in addition, at every place where it stands. What a `*` of the winner took and another whole-text
rule reads, or the same one ("LINE 1 MADE, LINE 2 MADE"), is read too (`swallowed.py`).
Out: `facts.RuleRead`; for `explain` a `Trial` per rule.
A text in which only numbers were found ("anywhere"), but which has the form of a text about an input with a state that
nobody has listed, counts as read by no rule, so that it is passed on: the numbers are kept all the same. So does one in
which only rules with `enough = false` found something.
Nothing raises: a broken rule fits nothing, and a pattern that runs over its time limit counts as not fitting.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from gateway.facts import Reading, RuleRead
from gateway.rules.compiled_rule import RULE_LIMIT_S, CompiledRule, compile_rule
from gateway.rules.folded_text import FoldedText
from gateway.rules.rule_index import RuleIndex, index_rules
from gateway.rules.swallowed import Swallowed, index_swallowed
from gateway.rules.template import Field, Word
from gateway.rules.trial import Trial, not_tried, try_rule
from gateway.settings.controller_tables import RuleTable

MOST_LATE = 4
"""So many rules may run over their limit on one text; after that each gets a tenth of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rulebook:
    """A controller's rules, ready to read; made by `compile_rulebook`."""

    rules: tuple[CompiledRule, ...]
    whole: RuleIndex
    anywhere: RuleIndex
    stateless: RuleIndex
    swallowed: Swallowed
    limit_s: float

    def read(self, text: str) -> RuleRead:
        """What the rules make of the text."""
        folded = FoldedText.of(text)
        late: list[int] = []
        whole = self._read_whole(folded, late)
        readings = [] if whole is None else [whole]
        is_strange = False
        if whole is not None:
            others, is_strange = self.swallowed.read(
                self.rules[whole.rule - 1], whole, folded, self._limit_s(len(late))
            )
            readings += others
        for rule in self.anywhere.candidates(folded):
            readings.extend(self._readings_of(rule, folded, late))
        number = None if is_strange else self._reading_rule(whole, readings, folded)
        return RuleRead(rule=number, readings=tuple(readings), timed_out=tuple(sorted(late)))

    def trace(self, text: str) -> tuple[Trial, ...]:
        """Every rule tried, in order, and how it went; slower than `read`, and of the same opinion."""
        folded = FoldedText.of(text)
        trials: list[Trial] = []
        winner: int | None = None
        for rule in self.rules:
            if winner is not None and not rule.is_anywhere:
                trials.append(not_tried(rule, winner))
                continue
            trials.append(try_rule(rule, folded, self._limit_s(sum(trial.timed_out for trial in trials))))
            if trials[-1].fitted and not rule.is_anywhere:
                winner = rule.number
        return tuple(trials)

    def _read_whole(self, text: FoldedText, late: list[int]) -> Reading | None:
        for rule in self.whole.candidates(text):
            for reading in self._readings_of(rule, text, late):
                return reading
        return None

    def _reading_rule(self, whole: Reading | None, readings: Sequence[Reading], text: FoldedText) -> int | None:
        """The number of the rule that counts as having read the text; None: nobody knows what it means, so it is passed on."""
        if whole is not None:
            return whole.rule
        # "LINE 1 JAMMED SUPPLY 12.6V" would pass as a voltage alone, and nobody would hear of the line
        if readings and _are_only_numbers(readings) and self._has_unlisted_state(text):
            return None
        return next((reading.rule for reading in readings if self.rules[reading.rule - 1].table.enough), None)

    def _has_unlisted_state(self, text: FoldedText) -> bool:
        """Whether it has the form of a text about an input, but says a state that nobody has listed."""
        return any(
            rule.find_matches(text, self.limit_s) not in ((), "timed-out") for rule in self.stateless.candidates(text)
        )

    def _readings_of(self, rule: CompiledRule, text: FoldedText, late: list[int]) -> list[Reading]:
        matches = rule.find_matches(text, self._limit_s(len(late)))
        if matches == "timed-out":
            late.append(rule.number)
            return []
        readings = (rule.reading_of(text, match) for match in matches)
        return [reading for reading in readings if reading is not None]

    def _limit_s(self, late: int) -> float:
        return self.limit_s if late < MOST_LATE else self.limit_s / 10


def compile_rulebook(rules: Sequence[RuleTable], *, limit_s: float = RULE_LIMIT_S) -> Rulebook:
    """The rules of one controller, in their order → ready to read; `limit_s`: seconds of processor time for one rule on one text."""
    compiled = tuple(compile_rule(table, number) for number, table in enumerate(rules, start=1))
    return Rulebook(
        rules=compiled,
        whole=index_rules(rule for rule in compiled if not rule.is_anywhere),
        anywhere=index_rules(rule for rule in compiled if rule.is_anywhere),
        swallowed=index_swallowed(compiled),
        stateless=index_rules(_with_any_state(rule) for rule in compiled if _is_worded_with_state(rule)),
        limit_s=limit_s,
    )


def _are_only_numbers(readings: Sequence[Reading]) -> bool:
    return all(reading.means in ("reading", "level") for reading in readings)


def _is_worded_with_state(rule: CompiledRule) -> bool:
    """A whole-text template about inputs with words of its own and a `{state}`."""
    if rule.broken or rule.is_anywhere or rule.table.means != "input" or not rule.states or rule.pieces is None:
        return False
    worded = any(isinstance(piece, Word) and any(map(str.isalpha, piece.text)) for piece in rule.pieces)
    return worded and Field("state") in rule.pieces


def _with_any_state(rule: CompiledRule) -> CompiledRule:
    """The same rule with any one word as the state."""
    return compile_rule(rule.table.model_copy(update={"active": (), "idle": ()}), rule.number)
