"""A text and a controller's rules → what was read, by which rule, and why not by the others.

In: `RuleTable`s in the order of the file; rule numbers count from 1. Whole-text rules are tried in order and the first
that fits wins; every "anywhere" rule applies in addition, at every place where it stands.
Out: `facts.RuleRead`; for `explain` a `Trial` per rule.
A text in which only numbers were found ("anywhere"), but which has the form of a text about an input with a state that
nobody has listed, counts as read by no rule, so that it is passed on: the numbers are kept all the same. So does one in
which only rules with `enough = false` found something.
Nothing raises: a broken rule fits nothing, and a pattern that runs over its time limit counts as not fitting.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from gateway.facts import Reading, RuleRead
from gateway.rules.compiled import CompiledRule, compile_rule
from gateway.rules.folded import FoldedText
from gateway.rules.index import RuleIndex, index_rules
from gateway.rules.template import Field, Word
from gateway.rules.trial import Trial, not_tried, try_rule
from gateway.settings.models import RuleTable

LIMIT_S = 0.05
"""Processor time one rule may take on one text (fault 36: at most 60 ms each)."""
PATIENCE = 4
"""So many rules may run over their limit on one text; after that each gets a tenth of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleBook:
    """A controller's rules, ready to read; made by `compile_book`."""

    rules: tuple[CompiledRule, ...]
    whole: RuleIndex
    anywhere: RuleIndex
    stateless: RuleIndex
    limit_s: float

    def read(self, text: str) -> RuleRead:
        """What the rules make of the text."""
        folded = FoldedText.of(text)
        late: list[int] = []
        found = self._read_whole(folded, late)
        first = found.rule if found is not None else None
        readings = [found] if found is not None else []
        for rule in self.anywhere.candidates(folded):
            readings.extend(self._readings(rule, folded, late))
        if readings and first is None and not (_only_numbers(readings) and self._half_read(folded)):
            first = next((one.rule for one in readings if self.rules[one.rule - 1].table.enough), None)
        return RuleRead(rule=first, readings=tuple(readings), timed_out=tuple(sorted(late)))

    def trace(self, text: str) -> tuple[Trial, ...]:
        """Every rule tried, in order, and how it went; slower than `read`, and of the same opinion."""
        folded = FoldedText.of(text)
        trials: list[Trial] = []
        winner: int | None = None
        for rule in self.rules:
            if winner is not None and not rule.anywhere:
                trials.append(not_tried(rule, winner))
                continue
            trials.append(try_rule(rule, folded, self._limit(sum(trial.timed_out for trial in trials))))
            if trials[-1].fitted and not rule.anywhere:
                winner = rule.number
        return tuple(trials)

    def _read_whole(self, text: FoldedText, late: list[int]) -> Reading | None:
        for rule in self.whole.candidates(text):
            for reading in self._readings(rule, text, late):
                return reading
        return None

    def _half_read(self, text: FoldedText) -> bool:
        """Whether it has the form of a text about an input, but says a state that nobody has listed."""
        return any(
            rule.matches(text, self.limit_s) not in ((), "timed-out") for rule in self.stateless.candidates(text)
        )

    def _readings(self, rule: CompiledRule, text: FoldedText, late: list[int]) -> list[Reading]:
        matches = rule.matches(text, self._limit(len(late)))
        if matches == "timed-out":
            late.append(rule.number)
            return []
        readings = (rule.reading(text, match) for match in matches)
        return [reading for reading in readings if reading is not None]

    def _limit(self, late: int) -> float:
        return self.limit_s if late < PATIENCE else self.limit_s / 10


def compile_book(rules: Sequence[RuleTable], *, limit_s: float = LIMIT_S) -> RuleBook:
    """The rules of one controller, in their order; `limit_s`: seconds of processor time for one rule on one text."""
    compiled = tuple(compile_rule(table, number) for number, table in enumerate(rules, start=1))
    return RuleBook(
        rules=compiled,
        whole=index_rules(rule for rule in compiled if not rule.anywhere),
        anywhere=index_rules(rule for rule in compiled if rule.anywhere),
        stateless=index_rules(_stateless(rule) for rule in compiled if _tells_states(rule)),
        limit_s=limit_s,
    )


def _only_numbers(readings: Sequence[Reading]) -> bool:
    return all(reading.means == "reading" for reading in readings)


def _tells_states(rule: CompiledRule) -> bool:
    """A whole-text template about inputs with words of its own and a `{state}`."""
    if rule.broken or rule.anywhere or rule.table.means != "input" or not rule.states or rule.pieces is None:
        return False
    worded = any(isinstance(piece, Word) and any(map(str.isalpha, piece.text)) for piece in rule.pieces)
    return worded and Field("state") in rule.pieces


def _stateless(rule: CompiledRule) -> CompiledRule:
    """The same with any one word as the state."""
    return compile_rule(rule.table.model_copy(update={"active": (), "idle": ()}), rule.number)
