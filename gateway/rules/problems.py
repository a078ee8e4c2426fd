"""A rule of the configuration → what is wrong with it, for `check`.

`rule_problems` are mistakes: such a rule can never do what it is there for. `rule_warnings` are oddities it survives.
"""

from collections.abc import Iterator
from typing import NamedTuple

import regex

from gateway.rules.compiled import regex_wrong
from gateway.rules.folded import fold
from gateway.rules.template import FIELDS, Field, TemplateWrong, parse_template
from gateway.settings.models import RuleTable


class Problem(NamedTuple):
    """`key`: the rule's own (`text`, `regex`, `input`, `state`, `active`, `idle`); `unknown`: a field's name that is none."""

    key: str
    wrong: str
    right: str
    unknown: str | None = None


_ONLY_ANYWHERE = Problem(
    "enough", "says something only of a rule of scope 'anywhere'", 'scope = "anywhere", or leave it out'
)

_GROUP = regex.compile(r"(?<!\\)(?:\\\\)*\(\?P?<([A-Za-z_]\w*)>")
_NOTHING_AFTER_THE_END = regex.compile(r"(?<!\\)(?:\\\\)*\$[A-Za-z0-9 ]")


def rule_problems(rule: RuleTable) -> list[Problem]:
    """Every mistake in one rule."""
    if (rule.text is None) == (rule.regex is None):
        found = "there is neither text nor regex" if rule.text is None else "there are both text and regex"
        return [Problem("text", found, 'write one of them: text = "…" or regex = "…"')]
    if rule.regex is not None:
        return [*_regex(rule.regex), *_fields(rule, set(_GROUP.findall(rule.regex))), *_words(rule)]
    try:
        pieces = parse_template(rule.text or "")
    except TemplateWrong as wrong:
        return [Problem("text", wrong.wrong, wrong.right, wrong.unknown), *_words(rule)]
    named = {piece.name for piece in pieces if isinstance(piece, Field)}
    return [*_says_something(rule), *_fields(rule, named), *_words(rule)]


def rule_warnings(rule: RuleTable) -> list[Problem]:
    """What is odd but does no harm: a word that is both active and idle fits nothing and is passed on as unread."""
    misplaced = [] if rule.enough or rule.scope == "anywhere" else [_ONLY_ANYWHERE]
    both = {fold(word) for word in rule.active} & {fold(word) for word in rule.idle}
    return [
        *(
            Problem(
                "active", f"the state word '{word}' is both active and idle", "let it stand in one of the two lists"
            )
            for word in sorted(both)
        ),
        *misplaced,
    ]


def _regex(source: str) -> Iterator[Problem]:
    if not source.strip():
        yield Problem("regex", "the regex is empty", "write a regular expression, or a text with * and fields")
        return
    wrong = regex_wrong(source)
    if wrong:
        yield Problem("regex", wrong, "mend it, or write a text with * and fields instead")
        return
    names = _GROUP.findall(source)
    known = " ".join(FIELDS)
    for name in sorted(set(names)):
        if name not in FIELDS:
            yield Problem(
                "regex",
                f"the group '{name}' is no field",
                f"name it as one of {known}, or make it a group (?:…) without a name",
                name,
            )
        if names.count(name) > 1:
            yield Problem("regex", f"the group '{name}' stands twice", "let it stand once")
    if _NOTHING_AFTER_THE_END.search(source) and "(?m" not in source:
        yield Problem(
            "regex",
            "something is expected after $, the end of the text",
            r"leave out the $, or write \$ for the character",
        )


def _says_something(rule: RuleTable) -> Iterator[Problem]:
    if rule.scope == "anywhere" and not (rule.text or "").replace("*", "").strip():
        yield Problem("text", "a rule of scope 'anywhere' that is only * says nothing", "write the words to look for")


def _fields(rule: RuleTable, named: set[str]) -> Iterator[Problem]:
    if "input" in named and rule.input is not None:
        yield Problem("input", "the rule both reads {input} and fixes it", "leave out one of the two")
    if "state" in named and rule.state is not None and (rule.active or rule.idle):
        yield Problem("state", "the rule both reads {state} and fixes it", "leave out one of the two")
    if rule.means != "input":
        return
    if "input" not in named and rule.input is None:
        yield Problem(
            "input", "nothing says which input it is", "put {input} where it stands in the text, or fix it: input = 1"
        )
    if "state" not in named and rule.state is None:
        yield Problem(
            "state",
            "nothing says whether it is active or idle",
            'put {state} where it stands, or fix it: state = "active"',
        )
    if "state" in named and rule.state is None and not _usable_words(rule):
        yield Problem("active", "no word is known for {state}", 'list the words: active = ["OPEN"], idle = ["SHUT"]')


def _usable_words(rule: RuleTable) -> set[str]:
    active, idle = {fold(word) for word in rule.active}, {fold(word) for word in rule.idle}
    return (active ^ idle) - {""}


def _words(rule: RuleTable) -> Iterator[Problem]:
    for key, words in (("active", rule.active), ("idle", rule.idle)):
        if any(not fold(word) for word in words):
            yield Problem(key, "a state word is empty", "write the word as it stands in the text, or leave it out")
    if isinstance(rule.input, str) and not rule.input.strip():
        yield Problem("input", "the input is empty", "write its number or name")
