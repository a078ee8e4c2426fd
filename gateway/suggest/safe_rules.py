"""Rules that are safe to propose: none that reads whatever comes, none whose star stands where another meaning is told."""

from collections.abc import Sequence

from gateway.rules.folded_text import fold
from gateway.settings.controller_tables import RuleTable
from gateway.suggest.labelled_rules import word_for_word
from gateway.suggest.proof import label_read_by, particular_first
from gateway.suggest.samples import Label, Sample
from gateway.suggest.tokens import tokenise
from gateway.suggest.trouble_words import QUIET, words_of_trouble


def safe_rules(rules: Sequence[RuleTable], samples: Sequence[Sample]) -> list[RuleTable]:
    """The rules without those of nothing but stars; a quiet one whose star covers a word that elsewhere tells of something else, or of
    trouble, gives way to one rule for each text it was made from, word for word but for times and numbers."""
    safe: list[RuleTable] = []
    for rule in rules:
        if rule.scope == "whole" and rule.means != "input" and not any(map(str.isalnum, rule.text or rule.regex or "")):
            continue
        if rule.means in QUIET and _covers_what_tells(rule, samples):
            safe += [word_for_word(sample.text, Label(rule.means)) for sample in _read_by(rule, samples)]
        else:
            safe.append(rule)
    return particular_first(safe) if len(safe) > len(rules) else safe


def _read_by(rule: RuleTable, samples: Sequence[Sample]) -> list[Sample]:
    return [
        sample for sample in samples if sample.label is not None and label_read_by(rule, sample.text) == sample.label
    ]


def _covers_what_tells(rule: RuleTable, samples: Sequence[Sample]) -> bool:
    mine = _read_by(rule, samples)
    covered = {word for sample in mine for word in _words(sample.text)} - _words(fold(rule.text or ""))
    otherwise = [sample for sample in samples if sample.label != Label(rule.means)]
    telling = {word for sample in otherwise for word in _words(sample.text)}
    return bool(covered & telling) or any(words_of_trouble(word) for word in covered)


def _words(text: str) -> set[str]:
    return {token.symbol for token in tokenise(text) if token.kind == "word"}
