"""A rule of the configuration → what is wrong with it, for `check`.

`find_rule_problems` finds mistakes: such a rule can never do what it is there for; `find_rule_oddities` what it survives.
"""

from collections.abc import Iterator
from typing import NamedTuple

import regex

from gateway.facts import NUMBER_FIELDS
from gateway.rules.compiled_rule import regex_mistake
from gateway.rules.folded_text import fold
from gateway.rules.template import FIELDS, Field, TemplateWrong, parse_template
from gateway.settings.controller_tables import RuleTable


class RuleProblem(NamedTuple):
    """`key`: the rule's own (`text`, `regex`, `input`, `state`, `active`, `idle`, `name`, `low`, `high`); `unknown`: a field's name that
    is none.
    """

    key: str
    wrong: str
    right: str
    unknown: str | None = None


_ENOUGH_OF_WHOLE_RULE = RuleProblem(
    "enough", "says something only of a rule of scope 'anywhere'", 'scope = "anywhere", or leave it out'
)

_GROUP = regex.compile(r"(?<!\\)(?:\\\\)*\(\?P?<([A-Za-z_]\w*)>")
_NOTHING_AFTER_THE_END = regex.compile(r"(?<!\\)(?:\\\\)*\$[A-Za-z0-9 ]")


def find_rule_problems(rule: RuleTable) -> list[RuleProblem]:
    """Every mistake in one rule: it can never do what it is there for."""
    if (rule.text is None) == (rule.regex is None):
        wrong = "there is neither text nor regex" if rule.text is None else "there are both text and regex"
        return [RuleProblem("text", wrong, 'write one of them: text = "…" or regex = "…"')]
    if rule.regex is not None:
        return [*_check_regex(rule.regex), *_check_fields(rule, set(_GROUP.findall(rule.regex))), *_check_words(rule)]
    try:
        pieces = parse_template(rule.text or "")
    except TemplateWrong as error:
        return [RuleProblem("text", error.wrong, error.right, error.unknown), *_check_words(rule)]
    names = {piece.name for piece in pieces if isinstance(piece, Field)}
    return [*_check_stars(rule), *_check_fields(rule, names), *_check_words(rule)]


def find_rule_oddities(rule: RuleTable) -> list[RuleProblem]:
    """What is odd but does no harm: a word that is both active and idle fits nothing and is passed on as unread."""
    both = {fold(word) for word in rule.active} & {fold(word) for word in rule.idle}
    right = "let it stand in one of the two lists"
    oddities = [
        RuleProblem("active", f"the state word '{word}' is both active and idle", right) for word in sorted(both)
    ]
    return oddities if rule.enough or rule.scope == "anywhere" else [*oddities, _ENOUGH_OF_WHOLE_RULE]


def _check_regex(source: str) -> Iterator[RuleProblem]:
    if not source.strip():
        yield RuleProblem("regex", "the regex is empty", "write a regular expression, or a text with * and fields")
        return
    wrong = regex_mistake(source)
    if wrong:
        yield RuleProblem("regex", wrong, "mend it, or write a text with * and fields instead")
        return
    yield from _check_groups(_GROUP.findall(source))
    if _NOTHING_AFTER_THE_END.search(source) and "(?m" not in source:
        yield RuleProblem(
            "regex",
            "something is expected after $, the end of the text",
            r"leave out the $, or write \$ for the character",
        )


def _check_groups(names: list[str]) -> Iterator[RuleProblem]:
    known = " ".join(FIELDS)
    for name in sorted(set(names)):
        if name not in FIELDS:
            yield RuleProblem(
                "regex",
                f"the group '{name}' is no field",
                f"name it as one of {known}, or make it a group (?:…) without a name",
                name,
            )
        if names.count(name) > 1:
            yield RuleProblem("regex", f"the group '{name}' stands twice", "let it stand once")


def _check_stars(rule: RuleTable) -> Iterator[RuleProblem]:
    if rule.scope == "anywhere" and not (rule.text or "").replace("*", "").strip():
        yield RuleProblem(
            "text", "a rule of scope 'anywhere' that is only * says nothing", "write the words to look for"
        )


def _check_fields(rule: RuleTable, names: set[str]) -> Iterator[RuleProblem]:
    if "input" in names and rule.input is not None:
        yield RuleProblem("input", "the rule both reads {input} and fixes it", "leave out one of the two")
    if "state" in names and rule.state is not None and (rule.active or rule.idle):
        yield RuleProblem("state", "the rule both reads {state} and fixes it", "leave out one of the two")
    yield from _check_limits(rule, names)
    if rule.means not in ("input", "level"):
        return
    if rule.means == "level" and "level" not in names:
        yield RuleProblem(
            "text" if rule.regex is None else "regex", "nothing says the level", "put {level} where it stands"
        )
    if "input" not in names and rule.input is None:
        yield RuleProblem(
            "input", "nothing says which input it is", "put {input} where it stands in the text, or fix it: input = 1"
        )
    if rule.means == "level":
        return
    if "state" not in names and rule.state is None:
        yield RuleProblem(
            "state",
            "nothing says whether it is active or idle",
            'put {state} where it stands, or fix it: state = "active"',
        )
    if "state" in names and rule.state is None and not _usable_words(rule):
        yield RuleProblem(
            "active", "no word is known for {state}", 'list the words: active = ["MADE"], idle = ["BROKE"]'
        )


def _check_limits(rule: RuleTable, names: set[str]) -> Iterator[RuleProblem]:
    """What a rule's own `low` and `high` are of: one number of a reading."""
    numbers = names & {entry.name for entry in NUMBER_FIELDS.values() if not entry.of_gauge}
    if rule.low is None and rule.high is None:
        if rule.name and rule.means == "reading":
            yield RuleProblem("name", "a name without low or high names no alarm", "add low = … or high = …")
        return
    key = "low" if rule.low is not None else "high"
    if rule.means != "reading":
        right = "a gauge's limits are its low_m and high_m" if rule.means == "level" else 'means = "reading"'
        yield RuleProblem(key, "only a reading has limits of its own", right)
    elif len(numbers) != 1:
        wrong = "there is no number to hold against it" if not numbers else "it may be of several numbers"
        yield RuleProblem(key, wrong, "a rule with one of {volts} {percent} {celsius} {signal}")
    if rule.low is not None and rule.high is not None and rule.low >= rule.high:
        yield RuleProblem("high", f"is not above low = {rule.low:g}", "a high above the low")


def _usable_words(rule: RuleTable) -> set[str]:
    active, idle = {fold(word) for word in rule.active}, {fold(word) for word in rule.idle}
    return (active ^ idle) - {""}


def _check_words(rule: RuleTable) -> Iterator[RuleProblem]:
    for key, words in (("active", rule.active), ("idle", rule.idle)):
        if any(not fold(word) for word in words):
            yield RuleProblem(key, "a state word is empty", "write the word as it stands in the text, or leave it out")
    if isinstance(rule.input, str) and not rule.input.strip():
        yield RuleProblem("input", "the input is empty", "write its number or name")
