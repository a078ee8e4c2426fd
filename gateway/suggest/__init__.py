"""Sample texts, labelled or bare → the fewest, plainest rules that read them.

    lines → samples → tokens → forms laid upon each other → fields → drafts → proved with the real engine → TOML

Nothing in here knows a make of box: what is common stays, what goes with the label is input or state, the rest is `*`.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from gateway.rules.folded_text import fold
from gateway.rules.rulebook import compile_rulebook
from gateway.settings.models import RuleTable
from gateway.suggest.bare import bare_rules
from gateway.suggest.figures import reading_rules
from gateway.suggest.labelled import contradictions, labelled_rules
from gateway.suggest.lists import labels_of, list_rule, listed
from gateway.suggest.proving import first_label
from gateway.suggest.samples import Label, Sample, read_samples
from gateway.suggest.written import SuggestedRule, written

__all__ = ["SuggestedRule", "Suggestion", "suggest"]

_COMMENTS = {
    "input": "Tells of a float.",
    "list": "Tells of several floats at once.",
    "alive": "A sign of life.",
    "power-lost": "The power is gone.",
    "power-back": "The power is back.",
    "reading": "A number to keep, wherever it stands in a text.",
    "ignore": "Says nothing of use.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Suggestion:
    """`unread`: samples that no rule reads as labelled; `notes`: what is odd about the samples; `toml`: to paste."""

    rules: tuple[SuggestedRule, ...]
    unread: tuple[str, ...]
    toml: str
    notes: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The contract's `{"rules", "unread", "toml"}`, and the notes."""
        rules = [rule.as_json() for rule in self.rules]
        return {"rules": rules, "unread": list(self.unread), "toml": self.toml, "notes": list(self.notes)}


def suggest(lines: Sequence[str]) -> Suggestion:
    """Never raises; lines that make no sense end up in `unread` or `notes`."""
    given = read_samples(lines)
    samples = list(dict.fromkeys(given.samples))
    lists = _only(listed(samples))
    kept, said = contradictions([sample for sample in samples if not _in_list(lists, sample)])
    whole = [*(_opened(rule, given.opening) for rule in labelled_rules(kept)), *lists]
    bare = [sample.text for sample in kept if sample.label is None and _first(whole, sample.text) is None]
    bare_lists = _only(list_rule(bare))
    single = [text for text in bare if not any(labels_of(rule, text) for rule in bare_lists)]
    proposals = [_opened(one.rule, given.opening) for one in bare_rules(single)] + bare_lists
    rules = [*_described(whole, samples, False), *_described(proposals, [Sample(text) for text in bare], True)]
    readings = reading_rules([sample.text for sample in samples], _state_words(whole))
    rules += [SuggestedRule(rule=rule, reads=tuple(reads), comment=_COMMENTS["reading"]) for rule, reads in readings]
    unread = _unread(samples, [*whole, *proposals])
    notes = (*given.odd, *said)
    return Suggestion(rules=tuple(rules), unread=unread, toml=written(rules, unread, notes), notes=notes)


def _only(rule: RuleTable | None) -> list[RuleTable]:
    return [] if rule is None else [rule]


def _in_list(lists: Sequence[RuleTable], sample: Sample) -> bool:
    return sample.label is not None and any(sample.label in labels_of(rule, sample.text) for rule in lists)


def _first(rules: Sequence[RuleTable], text: str) -> Label | None:
    """What is made of a text, by the first rule that fits it, or by one that finds inputs anywhere."""
    found = first_label(rules, text)
    if found is not None:
        return found
    return next(
        (label for rule in rules if rule.scope == "anywhere" for label in sorted(labels_of(rule, text), key=str)), None
    )


def _opened(rule: RuleTable, opening: str) -> RuleTable:
    """Allows for what stood in front of every line: it may or may not belong to the texts."""
    text = rule.text or ""
    return rule if text.startswith("*") or not opening else rule.model_copy(update={"text": f"{opening}{text}"})


def _described(rules: Sequence[RuleTable], samples: Sequence[Sample], decide: bool) -> list[SuggestedRule]:
    book = compile_rulebook(rules)
    mine: dict[int, dict[str, None]] = defaultdict(dict)
    for sample in samples:
        mine[book.read(sample.text).rule or 0][sample.text] = None
    return [
        SuggestedRule(
            rule=rule,
            reads=tuple(mine[number]),
            decide=decide,
            comment=_comment(rule, decide),
        )
        for number, rule in enumerate(rules, start=1)
    ]


def _comment(rule: RuleTable, decide: bool) -> str:
    if rule.scope == "anywhere":
        return _COMMENTS["list"]
    return "Texts of this form came without a label." if decide else _COMMENTS[rule.means]


def _state_words(rules: Sequence[RuleTable]) -> frozenset[str]:
    return frozenset(word for rule in rules for phrase in (*rule.active, *rule.idle) for word in fold(phrase).split())


def _unread(samples: Sequence[Sample], rules: Sequence[RuleTable]) -> tuple[str, ...]:
    unread = []
    lists = [rule for rule in rules if rule.scope == "anywhere"]
    for sample in samples:
        label = _first(rules, sample.text)
        if label is None or (sample.label is not None and label != sample.label and not _in_list(lists, sample)):
            unread.append(sample.text)
    return tuple(dict.fromkeys(unread))
