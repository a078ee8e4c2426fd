"""A controller's rules and an input → whether any text could tell of that input.

Said only when sure: a rule that reads `{input}` tells of every input that is one word or number; a rule that fixes the input
tells of that one; a regular expression with such a group may tell of any.
"""

from collections.abc import Iterable

import regex

from gateway.facts import input_key
from gateway.rules.compiled import compile_rule
from gateway.rules.template import Field
from gateway.settings.models import RuleTable

_ONE_WORD = regex.compile(r"[\p{L}\p{M}\p{N}_-]+")
_GROUP = regex.compile(r"\(\?P?<input>")


def tells_of(rules: Iterable[RuleTable], which: int | str) -> bool:
    """Whether one of the rules can."""
    return any(_tells(rule, which) for rule in rules)


def _tells(rule: RuleTable, which: int | str) -> bool:
    compiled = compile_rule(rule, 1)
    if rule.means != "input" or compiled.broken:
        return False
    if compiled.pieces is None and _GROUP.search(compiled.source):
        return True
    if compiled.pieces is not None and Field("input") in compiled.pieces:
        return _ONE_WORD.fullmatch(input_key(which)) is not None
    return rule.input is not None and input_key(rule.input) == input_key(which)
