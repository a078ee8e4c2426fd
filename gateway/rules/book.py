"""All rules of a controller and a text → what it says.

Whole-text rules are tried in order and the first that fits wins; `anywhere` rules apply in addition, at every place where
they stand. A pattern that runs over its time limit counts as not fitting and is named. Rules whose literal words do not
stand in the text are not tried at all: the cost of a text does not grow with the number of rules.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from gateway.facts import FloatState, Reading, RuleRead, input_key
from gateway.rules.template import NUMBER_FIELDS, Compiled, compile_rule
from gateway.settings.models import RuleTable

LIMIT_S = 0.05
"""Longest time for one pattern on one text."""

LONGEST_TEXT = 4000
_WORD = re.compile(r"[^\W_]{2,}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """How one rule fared: for `explain`. `why` is plain words."""

    rule: int
    fitted: bool
    why: str
    readings: tuple[Reading, ...] = ()


class RuleBook:
    """A controller's rules, compiled and indexed."""

    def __init__(self, rules: Sequence[Compiled], limit_s: float) -> None:
        self._limit_s = limit_s
        self._rules = tuple(rules)
        self._whole = _Index([one for one in rules if one.rule.scope == "whole"])
        self._anywhere = _Index([one for one in rules if one.rule.scope == "anywhere"])

    def read(self, text: str) -> RuleRead:
        """How the text is read."""
        bare = _bare(text)
        words = frozenset(_WORD.findall(bare.lower()))
        slow: list[int] = []
        readings: list[Reading] = []
        whole: int | None = None
        for compiled in self._whole.candidates(words):
            found = self._try(compiled, bare, slow)
            if found:
                whole = compiled.number
                readings.extend(found)
                break
        first_found: int | None = None
        for compiled in self._anywhere.candidates(words):
            found = self._try(compiled, bare, slow)
            if found and first_found is None:
                first_found = compiled.number
            readings.extend(found)
        return RuleRead(rule=whole or first_found, readings=tuple(readings), timed_out=tuple(slow))

    def trace(self, text: str) -> tuple[Trial, ...]:
        """Every rule, whether it fitted, and why not."""
        bare = _bare(text)
        return tuple(self._trial(one, bare) for one in self._rules)

    def _trial(self, compiled: Compiled, bare: str) -> Trial:
        slow: list[int] = []
        found = tuple(self._try(compiled, bare, slow))
        if found:
            return Trial(rule=compiled.number, fitted=True, why="it fits", readings=found)
        why = f"it took longer than {self._limit_s * 1000:.0f} ms" if slow else _why_not(compiled, bare)
        return Trial(rule=compiled.number, fitted=False, why=why)

    def _try(self, compiled: Compiled, bare: str, slow: list[int]) -> list[Reading]:
        try:
            if compiled.rule.scope == "whole":
                match = compiled.pattern.fullmatch(bare, timeout=self._limit_s)
                matches = [match] if match else []
            else:
                matches = list(compiled.pattern.finditer(bare, timeout=self._limit_s))
        except TimeoutError:
            slow.append(compiled.number)
            return []
        readings = (_reading(compiled, match) for match in matches)
        return [one for one in readings if one is not None]


def compile_book(rules: Sequence[RuleTable], *, limit_s: float = LIMIT_S) -> RuleBook:
    """The rules, ready. Raises ValueError for one that `check` would have refused."""
    return RuleBook([compile_rule(number, rule) for number, rule in enumerate(rules, start=1)], limit_s)


class _Index:
    """Rules by the rarest word they need; those that need none are always tried."""

    def __init__(self, rules: Sequence[Compiled]) -> None:
        count: dict[str, int] = {}
        for one in rules:
            for word in set(one.needs):
                count[word] = count.get(word, 0) + 1
        self._always: list[tuple[int, Compiled]] = []
        self._by_word: dict[str, list[tuple[int, Compiled]]] = {}
        for place, one in enumerate(rules):
            rarest = min(one.needs, key=lambda word: (count[word], -len(word)), default=None)
            (self._always if rarest is None else self._by_word.setdefault(rarest, [])).append((place, one))

    def candidates(self, words: frozenset[str]) -> Iterator[Compiled]:
        """Rules that can fit a text of these words, in their own order."""
        found = list(self._always)
        for word in words & self._by_word.keys():
            found.extend(self._by_word[word])
        found.sort(key=lambda pair: pair[0])
        return (one for _, one in found)


def _bare(text: str) -> str:
    return text[:LONGEST_TEXT].strip()


def _reading(compiled: Compiled, match: Any) -> Reading | None:
    """The match as a reading; None where it does not say what its kind needs."""
    rule = compiled.rule
    took = {name: value for name, value in match.groupdict().items() if value is not None}
    numbers = {name: _number(took[name]) for name in NUMBER_FIELDS if name in took}
    if any(value is None for value in numbers.values()):
        return None
    state = rule.state or _state(rule, took.get("state"))
    if "state" in took and (rule.active or rule.idle) and state is None:
        return None
    named = took.get("input", rule.input)
    if rule.means == "input" and (named is None or state is None):
        return None
    return Reading(
        means=rule.means,
        rule=compiled.number,
        input=None if named is None else input_key(named),
        state=state,
        word=took.get("word"),
        **numbers,
    )


def _state(rule: RuleTable, said: str | None) -> FloatState | None:
    if said is None:
        return None
    folded = " ".join(said.split()).casefold()
    if folded in {" ".join(word.split()).casefold() for word in rule.active}:
        return "active"
    if folded in {" ".join(word.split()).casefold() for word in rule.idle}:
        return "idle"
    return None


def _number(said: str) -> float | None:
    try:
        return float(said.replace(",", "."))
    except ValueError:
        return None


def _why_not(compiled: Compiled, bare: str) -> str:
    words = frozenset(_WORD.findall(bare.lower()))
    missing = [word for word in compiled.needs if word not in words]
    if missing:
        return f"the text has no word {missing[0]!r}"
    rule = compiled.rule
    known = (*rule.active, *rule.idle)
    if rule.means == "input" and known and not any(word.casefold() in bare.casefold() for word in known):
        return f"no state word stands in it: expected one of {', '.join(known)}"
    return "its words stand in another order, or something stands beside them that the rule does not allow"
