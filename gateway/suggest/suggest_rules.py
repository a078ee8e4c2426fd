"""Sample texts, labelled or bare → the fewest, plainest rules that read them.

    lines → samples → tokens → forms laid upon each other → fields → drafts → proved with the real engine → TOML

Nothing in here knows a make of box: what is common stays, what goes with the label is input or state, the rest is `*`.
"""

import json
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from gateway.facts.harmless import harmless
from gateway.rules.folded_text import fold
from gateway.rules.rulebook import compile_rulebook
from gateway.rules.unreachable import states_told_of
from gateway.settings.models import RuleTable
from gateway.suggest.bare_rules import bare_rules
from gateway.suggest.labelled_rules import labelled_rules, set_contradictions_aside
from gateway.suggest.lists_of_inputs import labelled_list_rule, labels_read_by, list_rule
from gateway.suggest.measured_numbers import reading_rules
from gateway.suggest.proof import first_label_read
from gateway.suggest.samples import Label, Sample, read_samples

_ENOUGH = "  # a text in which nothing else is read is passed on"
_SHOWN_SAMPLES = 2
NEVER_IDLE = 'give a sample of it, or, where the box never says so, its float an over = "reckoned" or "said"'
NEVER_ACTIVE = "give a sample of it, or nobody is ever told"
_SHOWN_CHARACTERS = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class SuggestedRule:
    """A rule with the samples it reads; `decide`: a person must say what it means; `comment` in plain words."""

    rule: RuleTable
    reads: tuple[str, ...]
    decide: bool = False
    comment: str = ""

    def keys(self) -> dict[str, Any]:
        """The rule's own keys, in the order of the contract, without what is empty."""
        table = self.rule
        keys: dict[str, Any] = {"text": table.text, "regex": table.regex, "means": table.means}
        keys |= {"active": list(table.active), "idle": list(table.idle)}
        keys |= {"input": table.input, "state": table.state}
        keys |= {"scope": table.scope if table.scope != "whole" else None}
        keys |= {"enough": None if table.enough else False}
        return {key: value for key, value in keys.items() if value not in (None, [])}

    def as_json(self) -> dict[str, Any]:
        """For `suggest --json`."""
        return {**self.keys(), "reads": list(self.reads), "decide": self.decide, "comment": self.comment}


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


def suggest_rules(lines: Sequence[str]) -> Suggestion:
    """Lines of a sample file → rules that read them. Never raises; lines that make no sense end up in `unread` or `notes`."""
    sample_file = read_samples(lines)
    samples = list(dict.fromkeys(sample_file.samples))
    lists = _as_list(labelled_list_rule(samples))
    kept, contradictory = set_contradictions_aside([sample for sample in samples if not _in_list(lists, sample)])
    whole = [*(_with_opening(rule, sample_file.opening) for rule in labelled_rules(kept)), *lists]
    bare = [sample.text for sample in kept if sample.label is None and _label_of(whole, sample.text) is None]
    bare_lists = _as_list(list_rule(bare))
    single = [text for text in bare if not any(labels_read_by(rule, text) for rule in bare_lists)]
    proposals = [_with_opening(proposal.rule, sample_file.opening) for proposal in bare_rules(single)] + bare_lists
    rules = [
        *_describe_rules(whole, samples, False),
        *_describe_rules(proposals, [Sample(text) for text in bare], True),
    ]
    readings = reading_rules([sample.text for sample in samples], _state_words(whole))
    rules += [SuggestedRule(rule=rule, reads=tuple(reads), comment=_COMMENTS["reading"]) for rule, reads in readings]
    unread = _find_unread(samples, [*whole, *proposals])
    notes = (*sample_file.odd, *contradictory, *_one_sided_inputs([*whole, *proposals], samples))
    return Suggestion(rules=tuple(rules), unread=unread, toml=suggestion_toml(rules, unread, notes), notes=notes)


def _one_sided_inputs(rules: Sequence[RuleTable], samples: Sequence[Sample]) -> list[str]:
    """Inputs of which these rules can tell one state only: the alarm of such a float is never heard to be over, or never begins."""
    book = compile_rulebook(rules)
    inputs = {
        reading.input: None
        for sample in samples
        for reading in book.read(sample.text).readings
        if reading.means == "input" and reading.input is not None
    }
    told = {name: states_told_of(rules, name) for name in inputs}
    return [
        *(
            f"no rule can say that input {name} is idle: {NEVER_IDLE}"
            for name, states in told.items()
            if states == {"active"}
        ),
        *(
            f"no rule can say that input {name} is active: {NEVER_ACTIVE}"
            for name, states in told.items()
            if states == {"idle"}
        ),
    ]


def _as_list(rule: RuleTable | None) -> list[RuleTable]:
    return [] if rule is None else [rule]


def _in_list(lists: Sequence[RuleTable], sample: Sample) -> bool:
    return sample.label is not None and any(sample.label in labels_read_by(rule, sample.text) for rule in lists)


def _label_of(rules: Sequence[RuleTable], text: str) -> Label | None:
    """What is made of a text, by the first rule that fits it, or by one that finds inputs anywhere."""
    label = first_label_read(rules, text)
    if label is not None:
        return label
    return next(
        (label for rule in rules if rule.scope == "anywhere" for label in sorted(labels_read_by(rule, text), key=str)),
        None,
    )


def _with_opening(rule: RuleTable, opening: str) -> RuleTable:
    """Allows for what stood in front of every line: it may or may not belong to the texts."""
    text = rule.text or ""
    return rule if text.startswith("*") or not opening else rule.model_copy(update={"text": f"{opening}{text}"})


def _describe_rules(rules: Sequence[RuleTable], samples: Sequence[Sample], decide: bool) -> list[SuggestedRule]:
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


def _find_unread(samples: Sequence[Sample], rules: Sequence[RuleTable]) -> tuple[str, ...]:
    unread = []
    lists = [rule for rule in rules if rule.scope == "anywhere"]
    for sample in samples:
        label = _label_of(rules, sample.text)
        if label is None or (sample.label is not None and label != sample.label and not _in_list(lists, sample)):
            unread.append(sample.text)
    return tuple(dict.fromkeys(unread))


def suggestion_toml(rules: Sequence[SuggestedRule], unread: Sequence[str], notes: Sequence[str]) -> str:
    """The whole proposal as TOML, with comments in plain words."""
    lines = ["# Rules suggested from your sample texts. Paste them beneath the [[controllers]] table of the box."]
    if any(rule.decide for rule in rules):
        lines.append("# Where a line says DECIDE, only you can know: read the sample and change the line if need be.")
    lines += [f"# Look at this: {_one_line(note)}" for note in notes]
    for rule in rules:
        lines += ["", *_rule(rule)]
    if unread:
        lines += ["", "# No rule reads these samples:", *(f"#   {_one_line(text)}" for text in unread)]
    return "\n".join(lines) + "\n"


def _rule(rule: SuggestedRule) -> list[str]:
    many = len(rule.reads)
    lines = [f"# {_one_line(rule.comment)}"] if rule.comment else []
    lines.append(f"# Reads {many} of your samples, such as:" if many else "# Reads none of your samples as they are.")
    lines += [f"#   {_one_line(text)}" for text in rule.reads[:_SHOWN_SAMPLES]]
    lines.append("[[controllers.rules]]")
    for key, value in rule.keys().items():
        mark = _ENOUGH if key == "enough" else _decide(key, rule)
        lines.append(f"{key} = {_value(value)}{mark}")
    if rule.decide and rule.rule.active and not rule.rule.idle:
        lines.append("idle = []  # DECIDE: move the words for a float at rest here")
    return lines


def _decide(key: str, rule: SuggestedRule) -> str:
    if not rule.decide:
        return ""
    if key == "means" and rule.rule.means == "input":
        return "  # DECIDE: input, if this tells of a float; else alive, power-lost, power-back, ignore"
    if key == "means":
        return "  # DECIDE: alive, power-lost, power-back, ignore; or input, with input = … and state = …"
    if key == "state":
        return '  # DECIDE: "active" or "idle"; until then it counts as active'
    if key == "active":
        return "  # DECIDE: which of these words say the float is active? Until then all do"
    return ""


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return f"[{', '.join(_value(item) for item in value)}]"
    if isinstance(value, str):
        return "".join(
            char if harmless(char) == char else _escaped(char) for char in json.dumps(value, ensure_ascii=False)
        )
    return str(value)


def _escaped(char: str) -> str:
    """What would move a cursor, turn a line round or hide, as TOML writes it: the same text for the program, seen by the person."""
    return f"\\u{ord(char):04x}" if ord(char) < 0x10000 else f"\\U{ord(char):08x}"


def _one_line(text: str) -> str:
    shown = harmless(text)
    return shown if len(shown) <= _SHOWN_CHARACTERS else f"{shown[: _SHOWN_CHARACTERS - 1]}…"
