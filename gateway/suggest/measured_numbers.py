"""Numbers with a unit or a name in front → reading rules of scope "anywhere".

What is volts, percent, degrees or signal is told by the unit behind the number or, where none stands there, by the word
before it. The word before stays in the rule where it is always the same; every rule must find just the numbers it was
made from.
"""

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from gateway.facts import NUMBER_FIELDS, NumberName
from gateway.facts.number_fields import OTHER_UNITS
from gateway.rules.compiled_rule import parse_number
from gateway.rules.rulebook import compile_rulebook
from gateway.rules.template import escape_template
from gateway.settings.controller_tables import RuleTable
from gateway.suggest.tokens import Token, tokenise

_LETTERS = {letter: entry.name for entry in NUMBER_FIELDS.values() for letter in entry.letters}
_TOUCHING_UNITS = OTHER_UNITS | {unit for entry in NUMBER_FIELDS.values() for unit in entry.units} - {"c"}
"""Without "c": "5C" is as often a place as a temperature."""
_NOT_OURS = ("hum", "humidity", "rh")
_POINTED = r"(?P<volts>\d{1,2}V\d{1,2})(?![\p{L}\p{N}])"
"""For a number that nothing but its V tells from others."""
_MOST_BESIDE = 3
"""Different words in front, above which the word says nothing."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One number found: `before` and `behind` are what must stand beside it, as they stand in the text."""

    field: NumberName
    text: str
    value: float
    before: str
    behind: str
    named: bool


def reading_rules(
    texts: Sequence[str], state_words: frozenset[str], *, unlabelled: Collection[str] = ()
) -> list[tuple[RuleTable, list[str]]]:
    """Each rule with the texts it reads. A percentage that nothing names, in a text of which nobody said what it means, may be a tank's as
    well as a battery's: no rule keeps it."""
    found: dict[tuple[NumberName, str], list[Figure]] = defaultdict(list)
    for figure in (figure for text in texts for figure in _figures(text)):
        if figure.field != "percent" or figure.named or figure.text not in unlabelled:
            found[(figure.field, figure.behind.casefold())].append(figure)
    rules: list[tuple[RuleTable, list[str]]] = []
    for figures in found.values():
        for template, mine in _templates(figures, state_words).items():
            rule = RuleTable(text=template, means="reading", scope="anywhere", enough=False)
            if template == "{volts}":
                rule = RuleTable(regex=_POINTED, means="reading", scope="anywhere", enough=False)
            if _finds(rule, mine):
                rules.append((rule, list(dict.fromkeys(figure.text for figure in mine))))
    return rules


def find_measured_tokens(text: str, tokens: Sequence[Token]) -> frozenset[int]:
    """Places of the tokens that are a measured number, the name before it or the unit behind it."""
    places: set[int] = set()
    for at, token in enumerate(tokens):
        if token.kind != "number":
            continue
        figure = _figure(text, tokens, at)
        touching = _touching_unit(tokens, at)
        if figure is None and not touching and token.text.isdecimal():
            continue
        told = figure is not None and (figure.named or figure.before.rstrip().endswith((":", "=")))
        before, behind = (figure.before if told else "", figure.behind) if figure else ("", "")
        first, last = token.start - len(before), token.end + len(behind)
        places |= {place for place, other in enumerate(tokens) if first <= other.start and other.end <= last}
        places |= {at + 1} if touching else set()
    return frozenset(places)


def _touching_unit(tokens: Sequence[Token], at: int) -> bool:
    """Whether a sign or a known unit follows; behind a whole number without a space."""
    after = tokens[at + 1] if at + 1 < len(tokens) else None
    if after is None or (tokens[at].text.isdecimal() and after.start > tokens[at].end):
        return False
    return after.text in "%°" or after.symbol in _TOUCHING_UNITS


def _figures(text: str) -> list[Figure]:
    tokens = tokenise(text)
    found = []
    for at, token in enumerate(tokens):
        if token.kind == "number":
            figure = _figure(text, tokens, at)
            if figure is not None:
                found.append(figure)
    return found


def _figure(text: str, tokens: Sequence[Token], at: int) -> Figure | None:
    before, name = _before(text, tokens, at)
    unit, behind = _unit(text, tokens, at)
    named = next((entry.name for entry in NUMBER_FIELDS.values() if name in entry.names), None)
    if named is None and before.rstrip().endswith((":", "=")):
        named = _LETTERS.get(name)
    if _pointed(tokens[at]):
        unit = "volts"
    field = "signal" if named == "signal" else unit or named
    if name in _NOT_OURS or field is None:
        return None
    if (named, field) == ("level", "percent"):
        return None  # how full a tank is: no battery's percent
    if unit is None and named == "volts" and not any(mark in tokens[at].text for mark in ".,"):
        return None
    value = parse_number(tokens[at].text)
    least, most = NUMBER_FIELDS[field].limits
    if value is None or not least <= value <= most:
        return None
    return Figure(field, text, value, before, behind, named is not None)


def _pointed(token: Token) -> bool:
    """Whether its point is written as the unit: "12V6"."""
    return "v" in token.text.casefold()


def _before(text: str, tokens: Sequence[Token], at: int) -> tuple[str, str]:
    """What stands from the nearest word before up to the number, and that word."""
    first = at - 1
    while first >= 0 and tokens[first].kind == "punct" and at - first < 3 and tokens[first].text in ":=.-<(":
        first -= 1
    if first < 0 or tokens[first].kind != "word":
        return "", ""
    if first and tokens[first - 1].kind == "number" and tokens[first - 1].end == tokens[first].start:
        return "", ""
    return text[tokens[first].start : tokens[at].start], tokens[first].symbol


def _unit(text: str, tokens: Sequence[Token], at: int) -> tuple[NumberName | None, str]:
    """The field its unit tells, and the unit as it stands, with the space before it."""
    for last in (at + 2, at + 1):
        if last >= len(tokens) or tokens[last].start - tokens[at].end > 4:
            continue
        stands = text[tokens[at].end : tokens[last].end]
        bare = stands.strip().casefold()
        if text[tokens[last].end : tokens[last].end + 1] in (":", "="):
            continue
        for entry in NUMBER_FIELDS.values():
            if bare in entry.units and (
                len(bare) > 1 or tokens[last].start == tokens[at].end or tokens[last].text.isupper() or bare == "%"
            ):
                return entry.name, stands
    return None, ""


def _templates(figures: Sequence[Figure], state_words: frozenset[str]) -> dict[str, list[Figure]]:
    field, behind = figures[0].field, escape_template(figures[0].behind)
    fronts: dict[str, list[Figure]] = defaultdict(list)
    for figure in figures:
        fronts[figure.before.casefold()].append(figure)
    if not behind and not all(figure.named or figure.before.rstrip().endswith((":", "=")) for figure in figures):
        words = next(iter(fronts)).split()
        single = len(fronts) == 1 and len(figures) > 1 and not any(word in state_words for word in words)
        return {f"{escape_template(figures[0].before) if single else ''}{{{field}}}": list(figures)}
    telling = all(mine[0].named for mine in fronts.values())
    if behind and not (telling and len(fronts) <= _MOST_BESIDE):
        return {f"{{{field}}}{behind}": list(figures)}
    return {f"{escape_template(mine[0].before)}{{{field}}}{behind}": mine for mine in fronts.values()}


def _finds(rule: RuleTable, figures: Sequence[Figure]) -> bool:
    book = compile_rulebook([rule])
    field = figures[0].field
    wanted: dict[str, set[float]] = defaultdict(set)
    for figure in figures:
        wanted[figure.text].add(figure.value)
    return all(
        values <= {reading.numbers.get(field) for reading in book.read(text).readings}
        for text, values in wanted.items()
    )
