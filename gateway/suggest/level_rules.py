"""Samples that are labelled `level <input>` → rules that read the level of that gauge.

Which of a text's numbers is the level: one behind a word for a level, or with the unit of one, that is neither the input nor a voltage; of
several the first behind the input. Where the input stands in the text the rule reads it there; else it is fixed. A text that tells several
gauges in one form (`T1 63% T2 40%`) makes a rule of that form alone, found at every place. Every rule is proved on the samples that it was
made from.
"""

from collections.abc import Callable, Iterable, Sequence

import regex

from gateway.facts import input_key
from gateway.rules.rulebook import Rulebook, compile_rulebook
from gateway.rules.template import escape_template
from gateway.settings.controller_tables import RuleTable
from gateway.suggest.samples import Label, Sample
from gateway.suggest.tokens import NOISE, Token, find_input_places, tokenise_with_input

LEVEL_WORDS = frozenset({
    "level", "lvl", "depth", "height", "content", "contents", "filled", "fill", "volume",
    "füllstand", "fuellstand", "pegel", "stand", "höhe", "wasserstand",
    "nivel", "altura", "niveau", "hauteur", "livello", "рівень", "висота",
})  # fmt: skip
LEVEL_UNITS = frozenset(
    {"%", "m", "cm", "mm", "ma", "l", "lt", "ltr", "liter", "litre", "liters", "litres", "litros", "м", "см", "л"}
)
OTHER_UNITS = frozenset({"v", "volt", "volts", "c", "°", "dbm", "ah", "mv"})
OTHER_WORDS = frozenset(
    {"batt", "bat", "battery", "vbat", "batterie", "csq", "rssi", "signal", "temp", "t", "u", "akku"}
)

_MakeRule = Callable[[str, Label, tuple[int, int] | None], RuleTable | None]


def level_rules(samples: Sequence[Sample]) -> list[RuleTable]:
    """One rule for each form of text."""
    return _proved(samples, _rule)


def rules_of_several(samples: Sequence[Sample]) -> list[RuleTable]:
    """One rule for each form in which one text tells of several gauges."""
    return _proved(samples, _rule_of_several)


def _proved(samples: Sequence[Sample], make: _MakeRule) -> list[RuleTable]:
    told = [(sample.text, sample.label) for sample in samples if sample.label and sample.label.means == "level"]
    places = find_input_places([(text, label.input or "") for text, label in told])
    rules: dict[RuleTable, None] = {}
    for (text, label), place in zip(told, places, strict=True):
        rule = make(text, label, place)
        if rule is not None and _reads(rule, text, label):
            rules[rule] = None
    return list(rules)


def without_levels(
    rules: Iterable[tuple[RuleTable, list[str]]], levels: Sequence[RuleTable]
) -> list[tuple[RuleTable, list[str]]]:
    """The rules for other numbers, without those that would take a level for one: 12 % of a tank is no flat battery."""
    book = compile_rulebook(levels)
    return [(rule, texts) for rule, texts in rules if not any(_takes_a_level(rule, text, book) for text in texts)]


def _takes_a_level(rule: RuleTable, text: str, levels: Rulebook) -> bool:
    read = {reading.numbers["level"] for reading in levels.read(text).readings if "level" in reading.numbers}
    numbers = {value for reading in compile_rulebook([rule]).read(text).readings for value in reading.numbers.values()}
    return bool(read & numbers)


def _rule(text: str, label: Label, place: tuple[int, int] | None) -> RuleTable | None:
    tokens = tokenise_with_input(text, place)
    at = _level_at(tokens)
    if at is None:
        return None
    template, end = "", 0
    for number, token in enumerate(tokens):
        template += escape_template(text[end : token.start]) + _stands_for(token, is_level=number == at)
        end = token.end
    template += escape_template(text[end:])
    template = regex.sub(r"\*(?:[.,:/\-]?\*)+", "*", template)
    return RuleTable(text=template, means="level", input=None if place else label.input)


def _rule_of_several(text: str, label: Label, place: tuple[int, int] | None) -> RuleTable | None:
    """From the input, with what is written onto it, to its level and the unit of that; None where the form stands there once, or what else
    it finds is named otherwise than a gauge."""
    tokens = tokenise_with_input(text, place)
    at = _level_at(tokens)
    named = next((number for number, token in enumerate(tokens) if token.kind == "input"), None)
    if at is None or named is None or named > at or any(token.kind in NOISE for token in tokens[named + 1 : at]):
        return None
    first, last = named, at
    if named and tokens[named - 1].end == tokens[named].start and tokens[named - 1].kind == "word":
        first = named - 1
    if at + 1 < len(tokens) and tokens[at + 1].text.casefold() in LEVEL_UNITS:
        last = at + 1
    template, end = "", tokens[first].start
    for number in range(first, last + 1):
        token = tokens[number]
        template += escape_template(text[end : token.start]) + _stands_for(token, is_level=number == at)
        end = token.end
    rule = RuleTable(text=template, means="level", scope="anywhere")
    inputs = {reading.input or "" for reading in compile_rulebook([rule]).read(text).readings}
    alike = {_without_digits(name) for name in inputs} == {_without_digits(input_key(label.input or ""))}
    return rule if len(inputs) > 1 and alike else None


def _without_digits(input: str) -> str:
    return input.rstrip("0123456789")


def _stands_for(token: Token, *, is_level: bool) -> str:
    if is_level:
        return "{level}"
    if token.kind == "input":
        return "{input}"
    return "*" if token.kind in ("number", "time", "date", "id") else escape_template(token.text)


def _level_at(tokens: Sequence[Token]) -> int | None:
    """The token that is most like a level; None: nothing is."""
    scores = {at: _score(tokens, at) for at, token in enumerate(tokens) if token.kind == "number"}
    best = max(scores, key=lambda at: (scores[at], -at), default=None)
    return best if best is not None and scores[best] >= 0 else None


def _score(tokens: Sequence[Token], at: int) -> int:
    near = list(tokens[max(0, at - 3) : at])
    behind_input = any(token.kind == "input" for token in near)
    if behind_input:
        # what stands before the input is a part of its name: the T of "T3 77 %" is no temperature
        near = near[next(place for place, token in enumerate(near) if token.kind == "input") :]
    words = [token.symbol for token in near if token.kind == "word"]
    after = tokens[at + 1].text.casefold() if at + 1 < len(tokens) else ""
    score = 3 * bool(words and words[-1] in LEVEL_WORDS) + 2 * (after in LEVEL_UNITS) + behind_input
    return score - 6 * (after in OTHER_UNITS or bool(words and words[-1] in OTHER_WORDS))


def _reads(rule: RuleTable, text: str, label: Label) -> bool:
    return any(
        reading.means == "level" and reading.input == input_key(label.input or "")
        for reading in compile_rulebook([rule]).read(text).readings
    )
