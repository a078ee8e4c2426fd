"""One rule of the configuration → something that can be tried on a text.

A rule with mistakes compiles too: it fits nothing, and `broken` says why. Every try has a time limit in seconds of
processor time; a try that runs over it is told apart from one that does not fit.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import regex

from gateway.facts import NUMBER_FIELDS, FloatState, NumberName, Reading, input_key
from gateway.rules.clock_time import parse_clock
from gateway.rules.folded_text import FoldedText, fold
from gateway.rules.template import Piece, Star, TemplateWrong, parse_template
from gateway.rules.template_regex import anywhere_source, whole_source, whole_source_with_stars
from gateway.settings.controller_tables import RuleTable

TimedOut = Literal["timed-out"]
RULE_LIMIT_S = 0.05
"""Processor time one rule may take on one text (fault 36: at most 60 ms each)."""
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
    def is_anywhere(self) -> bool:
        """Whether it applies at every place where it stands, beside the whole-text rules."""
        return self.table.scope == "anywhere"

    def _subject(self, text: FoldedText) -> str:
        """What the pattern runs over."""
        return text.folded if self.pieces is not None else text.raw

    def find_matches(self, text: FoldedText, limit_s: float) -> Sequence["regex.Match[str]"] | TimedOut:
        """Every place where the pattern stands; at most one for a whole-text rule."""
        if self.broken:
            return ()
        pattern = _compile_regex(self.source, self.pieces is None)
        try:
            if self.is_anywhere:
                return tuple(pattern.finditer(self._subject(text), timeout=limit_s))
            match = pattern.fullmatch(self._subject(text), timeout=limit_s)
        except TimeoutError:
            return "timed-out"
        return () if match is None else (match,)

    def star_spans(self, text: FoldedText, limit_s: float) -> tuple[tuple[int, int], ...]:
        """Where in the folded text stands what the stars of a whole-text template took."""
        if self.broken or self.is_anywhere or self.pieces is None or Star() not in self.pieces:
            return ()
        pattern = _compile_regex(whole_source_with_stars(self.pieces, self.states), False)
        try:
            match = pattern.fullmatch(text.folded, timeout=limit_s)
        except TimeoutError:
            return ()
        stars = [] if match is None else [match.span(name) for name in match.groupdict() if name.startswith("star")]
        return tuple(span for span in stars if span[0] < span[1])

    def reading_of(self, text: FoldedText, match: "regex.Match[str]") -> Reading | None:
        """What a match reads; None where it does not amount to a reading of the rule's kind."""
        taken = {name: value for name, value in match.groupdict().items() if value is not None}
        if match.end() == match.start() and self.is_anywhere:
            return None
        numbers: dict[NumberName, float] = {}
        for name in (entry.name for entry in NUMBER_FIELDS.values() if entry.name in taken):
            value = parse_number(taken[name])
            if value is None:
                return None
            numbers[name] = value
        state = self._state(taken.get("state"))
        input_name = self._input(taken.get("input"))
        unknown_word = "state" in taken and bool(self.states) and state is None
        if unknown_word or (self.table.means == "input" and (state is None or input_name is None)):
            return None
        if self.table.means == "level" and (input_name is None or "level" not in numbers):
            return None
        word = self._word(text, match) if "word" in taken else None
        clock = parse_clock(taken["time"]) if "time" in taken else None
        return Reading(
            means=self.table.means,
            rule=self.number,
            input=input_name,
            state=state,
            word=word,
            clock=clock,
            numbers=numbers,
        )

    def _state(self, word: str | None) -> FloatState | None:
        if word is not None and self.states:
            return self.states.get(fold(word))
        return self.table.state

    def _input(self, taken: str | None) -> str | None:
        value = taken if taken is not None else self.table.input
        return None if value is None else input_key(value) or None

    def _word(self, text: FoldedText, match: "regex.Match[str]") -> str:
        return text.as_it_stood(*match.span("word")) if self.pieces is not None else match.group("word")


def compile_rule(table: RuleTable, number: int) -> CompiledRule:
    """One rule of the file, ready to be tried; never raises, `broken` says why it cannot fit."""
    states = state_words(table)
    if (table.text is None) == (table.regex is None):
        return _broken_rule(table, number, "it needs either text or regex")
    if table.regex is not None:
        mistake = regex_mistake(table.regex)
        return CompiledRule(number=number, table=table, states=states, pieces=None, source=table.regex, broken=mistake)
    try:
        pieces = parse_template(table.text or "")
    except TemplateWrong as error:
        return _broken_rule(table, number, error.wrong)
    make_source = anywhere_source if table.scope == "anywhere" else whole_source
    source = make_source(pieces, states)
    broken = "" if source else "an 'anywhere' rule of * alone says nothing"
    return CompiledRule(number=number, table=table, states=states, pieces=pieces, source=source, broken=broken)


def _broken_rule(table: RuleTable, number: int, why: str) -> CompiledRule:
    return CompiledRule(number=number, table=table, states=state_words(table), pieces=(), source="", broken=why)


def state_words(table: RuleTable) -> dict[str, FloatState]:
    """Folded state word → state; a word that is given as both says nothing and is left out."""
    active = {fold(word) for word in table.active} - {""}
    idle = {fold(word) for word in table.idle} - {""}
    both = active & idle
    words: dict[str, FloatState] = {word: "active" for word in sorted(active - both)}
    words.update({word: "idle" for word in sorted(idle - both)})
    return words


def regex_mistake(source: str) -> str:
    """Why the source is no regular expression, or ''."""
    try:
        _compile_regex(source, True)
    except (
        regex.error,
        RecursionError,
        OverflowError,
        MemoryError,
        ValueError,
    ) as error:  # what a hostile pattern makes of the library
        return f"the regex is wrong: {error}"
    return ""


def parse_number(text: str) -> float | None:
    """A number with an optional sign and a decimal point or comma (or V: "12V6"); None where it is none."""
    try:
        value = float(text.replace("−", "-").replace(",", ".").casefold().replace("v", "."))
    except ValueError:
        return None
    return value if abs(value) < float("inf") else None


@lru_cache(maxsize=4096)
def _compile_regex(source: str, own: bool) -> "regex.Pattern[str]":
    """`own`: the householder's regex, over the text as it came."""
    return regex.compile(source, _REGEX_FLAGS if own else regex.DOTALL)
