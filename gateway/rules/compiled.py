"""One rule of the configuration → something that can be tried on a text.

A rule with mistakes compiles too: it fits nothing, and `broken` says why. Every try has a time limit in seconds of
processor time; a try that runs over it is told apart from one that does not fit.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

import regex

from gateway.facts import NUMBER_FIELDS, FloatState, NumberName, Reading, input_key
from gateway.rules.folded import FoldedText, fold
from gateway.rules.pattern import anywhere_source, whole_source
from gateway.rules.template import Piece, TemplateWrong, parse_template
from gateway.settings.models import RuleTable

TimedOut = Literal["timed-out"]
_REGEX_FLAGS = regex.IGNORECASE | regex.DOTALL


@dataclass(frozen=True, slots=True, kw_only=True)
class CompiledRule:
    """`source` is over folded text where `pieces` are given, else over the text as it came."""

    number: int
    table: RuleTable
    pieces: tuple[Piece, ...] | None
    source: str
    states: Mapping[str, FloatState]
    broken: str = ""

    @property
    def anywhere(self) -> bool:
        """Whether it applies at every place where it stands, beside the whole-text rules."""
        return self.table.scope == "anywhere"

    def subject(self, text: FoldedText) -> str:
        """What the pattern runs over."""
        return text.folded if self.pieces is not None else text.raw

    def matches(self, text: FoldedText, limit_s: float) -> Sequence["regex.Match[str]"] | TimedOut:
        """Every place where the pattern stands; at most one for a whole-text rule."""
        if self.broken:
            return ()
        pattern = _pattern(self.source, self.pieces is None)
        try:
            if self.anywhere:
                return tuple(pattern.finditer(self.subject(text), timeout=limit_s))
            found = pattern.fullmatch(self.subject(text), timeout=limit_s)
        except TimeoutError:
            return "timed-out"
        return () if found is None else (found,)

    def reading(self, text: FoldedText, match: "regex.Match[str]") -> Reading | None:
        """What was read; None where it does not amount to a reading of the rule's kind."""
        given = {name: value for name, value in match.groupdict().items() if value is not None}
        if match.end() == match.start() and self.anywhere:
            return None
        numbers: dict[NumberName, float] = {}
        for name in (entry.name for entry in NUMBER_FIELDS.values() if entry.name in given):
            value = number_of(given[name])
            if value is None:
                return None
            numbers[name] = value
        state = self._state(given.get("state"))
        which = self._input(given.get("input"))
        unknown_word = "state" in given and bool(self.states) and state is None
        if unknown_word or (self.table.means == "input" and (state is None or which is None)):
            return None
        word = self._word(text, match) if "word" in given else None
        return Reading(means=self.table.means, rule=self.number, input=which, state=state, word=word, numbers=numbers)

    def _state(self, word: str | None) -> FloatState | None:
        if word is not None and self.states:
            return self.states.get(fold(word))
        return self.table.state

    def _input(self, given: str | None) -> str | None:
        value = given if given is not None else self.table.input
        return None if value is None else input_key(value) or None

    def _word(self, text: FoldedText, match: "regex.Match[str]") -> str:
        return text.as_it_stood(*match.span("word")) if self.pieces is not None else match.group("word")


def compile_rule(table: RuleTable, number: int) -> CompiledRule:
    """Never raises; see `broken`."""
    states = state_words(table)
    given: dict[str, Any] = {"number": number, "table": table, "states": states}
    if (table.text is None) == (table.regex is None):
        return CompiledRule(**given, pieces=None, source="", broken="it needs either text or regex")
    if table.regex is not None:
        wrong = regex_wrong(table.regex)
        return CompiledRule(**given, pieces=None, source=table.regex, broken=wrong)
    try:
        pieces = parse_template(table.text or "")
    except TemplateWrong as wrong_text:
        return CompiledRule(**given, pieces=(), source="", broken=wrong_text.wrong)
    make = anywhere_source if table.scope == "anywhere" else whole_source
    source = make(pieces, states)
    broken = "" if source else "an 'anywhere' rule of * alone says nothing"
    return CompiledRule(**given, pieces=pieces, source=source, broken=broken)


def state_words(table: RuleTable) -> dict[str, FloatState]:
    """Folded state word → state; a word that is given as both says nothing and is left out."""
    active = {fold(word) for word in table.active} - {""}
    idle = {fold(word) for word in table.idle} - {""}
    both = active & idle
    words: dict[str, FloatState] = {word: "active" for word in sorted(active - both)}
    words.update({word: "idle" for word in sorted(idle - both)})
    return words


def regex_wrong(source: str) -> str:
    """Why it is no regular expression, or ''."""
    try:
        _pattern(source, True)
    except (regex.error, RecursionError, OverflowError, MemoryError, ValueError) as wrong:
        return f"the regex is wrong: {wrong}"
    return ""


def number_of(text: str) -> float | None:
    """A number with an optional sign and a decimal point or comma (or V: "12V6"); None where it is none."""
    try:
        value = float(text.replace("−", "-").replace(",", ".").casefold().replace("v", "."))
    except ValueError:
        return None
    return value if abs(value) < float("inf") else None


@lru_cache(maxsize=4096)
def _pattern(source: str, own: bool) -> "regex.Pattern[str]":
    """`own`: the householder's regex, over the text as it came."""
    return regex.compile(source, _REGEX_FLAGS if own else regex.DOTALL)
