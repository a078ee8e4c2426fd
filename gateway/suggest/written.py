"""Suggested rules → TOML to paste beneath a controller, with comments in plain words."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from gateway.facts.harmless import harmless
from gateway.settings.models import RuleTable

_ENOUGH = "  # a text in which nothing else is read is passed on"
_SHOWN_SAMPLES = 2
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
        given: dict[str, Any] = {"text": table.text, "regex": table.regex, "means": table.means}
        given |= {"active": list(table.active), "idle": list(table.idle)}
        given |= {"input": table.input, "state": table.state}
        given |= {"scope": table.scope if table.scope != "whole" else None}
        given |= {"enough": None if table.enough else False}
        return {key: value for key, value in given.items() if value not in (None, [])}

    def as_json(self) -> dict[str, Any]:
        """For `suggest --json`."""
        return {**self.keys(), "reads": list(self.reads), "decide": self.decide, "comment": self.comment}


def written(rules: Sequence[SuggestedRule], unread: Sequence[str], notes: Sequence[str]) -> str:
    """The whole proposal."""
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
        return f"[{', '.join(_value(one) for one in value)}]"
    if isinstance(value, str):
        return "".join(one if harmless(one) == one else _escaped(one) for one in json.dumps(value, ensure_ascii=False))
    return str(value)


def _escaped(char: str) -> str:
    """What would move a cursor, turn a line round or hide, as TOML writes it: the same text for the program, seen by the person."""
    return f"\\u{ord(char):04x}" if ord(char) < 0x10000 else f"\\U{ord(char):08x}"


def _one_line(text: str) -> str:
    shown = harmless(text)
    return shown if len(shown) <= _SHOWN_CHARACTERS else f"{shown[: _SHOWN_CHARACTERS - 1]}…"
