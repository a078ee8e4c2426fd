"""Sample texts with labels → the fewest, plainest rules that read them; texts without → groups to be asked about.

    lines → samples → tokens → forms laid upon each other → fields → drafts → proved with the real engine → TOML

Nothing in here knows a make of box: what is common stays, what goes with the label is input or state, the rest is `*`. What a text
means only a person knows: from a bare text nothing is made but a question, and what nobody knows is passed on word for word.
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
from gateway.settings.controller_tables import RuleTable
from gateway.suggest.bare_groups import Group, form_to_fill_in, groups_of_one_shape
from gateway.suggest.labelled_rules import labelled_rules, set_contradictions_aside
from gateway.suggest.level_rules import level_rules, rules_of_several, without_levels
from gateway.suggest.lists_of_inputs import labelled_list_rule, labels_read_by
from gateway.suggest.measured_numbers import reading_rules
from gateway.suggest.proof import first_label_read
from gateway.suggest.safe_rules import safe_rules
from gateway.suggest.samples import Label, Sample, SampleFile, read_samples
from gateway.suggest.trouble_words import words_of_trouble

_ENOUGH = "  # a text in which nothing else is read is passed on"
_SHOWN_SAMPLES = 2
NEVER_IDLE = 'give a sample of it, or, where the box never says so, its float an over = "reckoned" or "said"'
NEVER_ACTIVE = "give a sample of it, or nobody is ever told"
_SHOWN_CHARACTERS = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class SuggestedRule:
    """A rule with the samples it reads; `comment` in plain words."""

    rule: RuleTable
    reads: tuple[str, ...]
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
        return {**self.keys(), "reads": list(self.reads), "comment": self.comment}


_COMMENTS = {
    "input": "Tells of a float.",
    "list": "Tells of several floats at once.",
    "alive": "A sign of life.",
    "power-lost": "The power is gone.",
    "power-back": "The power is back.",
    "level": "Tells a level.",
    "reading": "A number to keep, wherever it stands in a text.",
    "ignore": "Says nothing of use.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Suggestion:
    """`misread`: samples that no rule reads as labelled; `groups`: texts that have no label and that no rule reads, by shape; `form`: to be
    filled in and given back, empty where nothing is to be asked; `notes`: what is odd about the samples; `toml`: to paste."""

    rules: tuple[SuggestedRule, ...]
    misread: tuple[str, ...]
    toml: str
    notes: tuple[str, ...] = ()
    groups: tuple[Group, ...] = ()
    form: str = ""
    unknown: tuple[str, ...] = ()
    samples: tuple[Sample, ...] = ()

    @property
    def unread(self) -> tuple[str, ...]:
        """Every sample that no rule reads as it should."""
        return (*self.misread, *self.unknown, *(text for group in self.groups for text in group.texts))

    def as_json(self) -> dict[str, Any]:
        """The contract's `{"rules", "unread", "toml"}`, the notes, and what is to be asked."""
        rules = [rule.as_json() for rule in self.rules]
        groups = [
            {"example": group.example, "count": len(group.texts), "trouble": list(words_of_trouble(group.example))}
            for group in self.groups
        ]
        return {
            "rules": rules,
            "unread": list(self.unread),
            "toml": self.toml,
            "notes": list(self.notes),
            "groups": groups,
            "form": self.form,
        }


def suggest_rules(lines: Sequence[str]) -> Suggestion:
    """Lines of a sample file → rules that read them. Never raises; lines that make no sense end up in `unread` or `notes`."""
    return suggest_from(read_samples(lines))


def suggest_from(sample_file: SampleFile) -> Suggestion:
    """The texts of a file, labelled in it or meanwhile → rules."""
    samples = list(dict.fromkeys(sample_file.samples))
    several = rules_of_several(samples)
    lists = [*_as_list(labelled_list_rule(samples)), *several]
    kept, contradictory = set_contradictions_aside([sample for sample in samples if not _in_list(lists, sample)])
    told = [sample for sample in samples if sample.label is not None]
    levels = level_rules(kept)
    safe = safe_rules(labelled_rules([sample for sample in kept if not _is_level(sample)]), told)
    rules = [*levels, *(_with_opening(rule, sample_file.opening) for rule in safe), *lists]
    bare = [sample for sample in kept if sample.label is None and _label_of(rules, sample.text) is None]
    groups = groups_of_one_shape([sample.text for sample in bare if not sample.asked])
    suggested = _describe_rules(rules, samples)
    # of a level that no rule reads nobody knows which number it is: none of its numbers is kept as something else
    plain = [
        sample.text
        for sample in samples
        if not _is_level(sample) or _in_list(several, sample) or _label_of(levels, sample.text) == sample.label
    ]
    unlabelled = {sample.text for sample in bare}
    readings = without_levels(reading_rules(plain, _state_words(rules), unlabelled=unlabelled), [*levels, *several])
    suggested += [
        SuggestedRule(rule=rule, reads=tuple(reads), comment=_COMMENTS["reading"]) for rule, reads in readings
    ]
    misread = _find_misread(told, rules)
    unknown = tuple(dict.fromkeys(sample.text for sample in bare if sample.asked))
    notes = (*sample_file.odd, *contradictory, *_lively_troubles(told), *_one_sided_inputs(rules, told))
    return Suggestion(
        rules=tuple(suggested),
        misread=misread,
        toml=suggestion_toml(suggested, (*misread, *unknown), notes, groups),
        notes=notes,
        groups=tuple(groups),
        form=form_to_fill_in(told, groups) if groups else "",
        unknown=unknown,
        samples=tuple(told),
    )


def _lively_troubles(samples: Sequence[Sample]) -> list[str]:
    """A sentence for each text that is labelled a sign of life and speaks of trouble."""
    return [
        f"'{sample.text}' is labelled {sample.label}, and speaks of trouble ({', '.join(words_of_trouble(sample.text))})"
        for sample in samples
        if sample.label is not None and sample.label.means in ("alive", "ignore") and words_of_trouble(sample.text)
    ]


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


def _is_level(sample: Sample) -> bool:
    return sample.label is not None and sample.label.means == "level"


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


def _describe_rules(rules: Sequence[RuleTable], samples: Sequence[Sample]) -> list[SuggestedRule]:
    book = compile_rulebook(rules)
    mine: dict[int, dict[str, None]] = defaultdict(dict)
    for sample in samples:
        mine[book.read(sample.text).rule or 0][sample.text] = None
    return [
        SuggestedRule(rule=rule, reads=tuple(mine[number]), comment=_comment(rule))
        for number, rule in enumerate(rules, start=1)
    ]


def _comment(rule: RuleTable) -> str:
    return _COMMENTS["list"] if rule.scope == "anywhere" and rule.means == "input" else _COMMENTS[rule.means]


def _state_words(rules: Sequence[RuleTable]) -> frozenset[str]:
    return frozenset(word for rule in rules for phrase in (*rule.active, *rule.idle) for word in fold(phrase).split())


def _find_misread(samples: Sequence[Sample], rules: Sequence[RuleTable]) -> tuple[str, ...]:
    lists = [rule for rule in rules if rule.scope == "anywhere"]
    misread = [
        sample.text
        for sample in samples
        if _label_of(rules, sample.text) != sample.label and not _in_list(lists, sample)
    ]
    return tuple(dict.fromkeys(misread))


def suggestion_toml(
    rules: Sequence[SuggestedRule], unread: Sequence[str], notes: Sequence[str], groups: Sequence[Group]
) -> str:
    """The whole proposal as TOML, with comments in plain words."""
    lines = ["# Rules suggested from your sample texts. Paste them beneath the [[controllers]] table of the box."]
    lines += [f"# Look at this: {_one_line(note)}" for note in notes]
    for rule in rules:
        lines += ["", *_rule(rule)]
    if unread:
        lines += ["", "# No rule reads these samples; such texts are passed on word for word:"]
        lines += [f"#   {_one_line(text)}" for text in unread]
    if groups:
        lines += ["", "# These have no label. Until they have one, such texts are passed on word for word:"]
        lines += [f"#   {_one_line(group.example)}" for group in groups]
    return "\n".join(lines) + "\n"


def _rule(rule: SuggestedRule) -> list[str]:
    many = len(rule.reads)
    lines = [f"# {_one_line(rule.comment)}"] if rule.comment else []
    lines.append(f"# Reads {many} of your samples, such as:" if many else "# Reads none of your samples as they are.")
    lines += [f"#   {_one_line(text)}" for text in rule.reads[:_SHOWN_SAMPLES]]
    lines.append("[[controllers.rules]]")
    lines += [f"{key} = {_value(value)}{_ENOUGH if key == 'enough' else ''}" for key, value in rule.keys().items()]
    return lines


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
