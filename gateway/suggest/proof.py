"""Rules and labelled samples → whether each sample is read as labelled, in which order, and which rules can go.

Everything is tried with the same engine that will read the real texts.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import regex

from gateway.rules.compiled_rule import RULE_LIMIT_S, CompiledRule, compile_rule
from gateway.rules.folded_text import FoldedText
from gateway.settings.controller_tables import RuleTable
from gateway.suggest.aligned_texts import TokenisedText
from gateway.suggest.samples import Label


@lru_cache(maxsize=4096)
def _compiled(rule: RuleTable) -> CompiledRule:
    return compile_rule(rule, 1)


@lru_cache(maxsize=8192)
def _folded(text: str) -> FoldedText:
    return FoldedText.of(text)


def label_read_by(rule: RuleTable, text: str) -> Label | None:
    """What one rule makes of one text, as a label; None where it does not fit."""
    compiled, folded = _compiled(rule), _folded(text)
    matches = compiled.find_matches(folded, RULE_LIMIT_S)
    if matches == "timed-out":
        return None
    for match in matches:
        reading = compiled.reading_of(folded, match)
        if reading is not None:
            if reading.means in ("input", "level"):
                return Label(reading.means, reading.input, reading.state)
            return Label(reading.means)
    return None


@dataclass(frozen=True, slots=True)
class Proof:
    """Judges drafts against every labelled sample of the file."""

    samples: tuple[tuple[str, Label], ...]

    def judge(self, rules: Sequence[RuleTable], tokenised: Sequence[TokenisedText]) -> int | None:
        """How many samples these rules would read wrongly by themselves; None: they do not read these texts."""
        if not all(first_label_read(rules, sample.text) == sample.label for sample in tokenised):
            return None
        return sum(first_label_read(rules, text) not in (None, label) for text, label in self.samples)

    def wrong(self, rules: Sequence[RuleTable]) -> list[tuple[str, Label]]:
        """Samples that the rules, in this order, do not read as labelled."""
        return [(text, label) for text, label in self.samples if first_label_read(rules, text) != label]


def first_label_read(rules: Sequence[RuleTable], text: str) -> Label | None:
    """What the first rule that fits makes of it."""
    for rule in rules:
        if rule.scope == "whole":
            label = label_read_by(rule, text)
            if label is not None:
                return label
    return None


def order_rules(rules: Sequence[RuleTable], proof: Proof) -> list[RuleTable]:
    """The more particular ones first; a rule that takes what belongs to another goes below it."""
    row = particular_first(rules)
    for _ in range(len(row) * 2):
        wrong = next(
            (case for case in proof.wrong(row) if any(label_read_by(rule, case[0]) == case[1] for rule in row)), None
        )
        if wrong is None:
            return row
        taker = next(at for at, rule in enumerate(row) if label_read_by(rule, wrong[0]) is not None)
        owner = next(at for at, rule in enumerate(row) if label_read_by(rule, wrong[0]) == wrong[1])
        row.insert(taker, row.pop(owner))
    return row


def particular_first(rules: Sequence[RuleTable]) -> list[RuleTable]:
    """Each rule once; those with more of their own words above those with fewer."""
    return sorted(dict.fromkeys(rules), key=_generality)


def count_misread(rules: Sequence[RuleTable], tokenised: Sequence[TokenisedText]) -> int:
    """How many of these texts the rules, the more particular first, do not read as labelled."""
    row = particular_first(rules)
    return sum(first_label_read(row, sample.text) != sample.label for sample in tokenised)


def _generality(rule: RuleTable) -> tuple[bool, int, int]:
    text = rule.text or ""
    reading = "{input}" in text or "{state}" in text
    letters = sum(char.isalnum() for char in regex.sub(r"\{[a-z]+\}", "", text))
    return reading, -letters, text.count("*")


def prune_rules(rules: Sequence[RuleTable], proof: Proof) -> list[RuleTable]:
    """Without the rules that no sample needs."""
    row = list(rules)
    missed = len(proof.wrong(row))
    for rule in sorted(
        rules, key=lambda rule: sum(label_read_by(rule, text) == label for text, label in proof.samples)
    ):
        without = [other for other in row if other is not rule]
        if len(proof.wrong(without)) <= missed:
            row = without
    return row
