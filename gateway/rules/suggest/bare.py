"""Texts without labels → groups of the same form, with fields where they vary as an input or a state would.

What means alarm and what means rest cannot be known from the texts alone: every such rule is marked to be decided, and
until it is, all its state words stand in `active`, so that what comes of it is too loud rather than silent.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from gateway.rules.suggest.drafts import drafts_of
from gateway.rules.suggest.fields import Fields
from gateway.rules.suggest.forms import Form, Laid, Span, form_of
from gateway.rules.suggest.proving import reads_as
from gateway.rules.suggest.tokens import tokens_of
from gateway.settings.models import RuleTable

_ALIKE = 0.45
"""Share of the weight that texts of one form have in common, on average over pairs."""
_WEIGHT = {"word": 1.0, "punct": 0.2, "number": 0.4, "time": 0.1, "date": 0.1, "id": 0.1}
_LIGHT_WORD = 0.25
"""A unit, or the name of a measured number."""
_LETTER = 0.6
_PAIRED = 4
"""Texts of a group that are compared with those of another."""
_MOST_STATES = 4
_MOST_INPUT = 999
_MOST_LAID = 24
_MOST_GROUPS = 40


@dataclass(frozen=True, slots=True)
class Proposal:
    """A rule made from texts without labels."""

    rule: RuleTable
    reads: tuple[str, ...]


def bare_rules(texts: Sequence[str]) -> list[Proposal]:
    """The largest groups first."""
    rows: dict[tuple[str, ...], list[Laid]] = {}
    for text in dict.fromkeys(texts):
        tokens = tokens_of(text)
        rows.setdefault(tuple(token.symbol for token in tokens), []).append(Laid(text, tokens))
    groups = sorted(rows.values(), key=len, reverse=True)[:_MOST_GROUPS]
    proposals: list[Proposal] = []
    for group in sorted(_joined(groups), key=len, reverse=True):
        for rule in _rules(group):
            reads = tuple(one.text for one in group if reads_as(rule, one.text) is not None)
            if reads:
                proposals.append(Proposal(rule, reads))
    return proposals


def _joined(groups: list[list[Laid]]) -> list[list[Laid]]:
    """Joins the likest two until none are alike."""
    table = dict(enumerate(groups))
    alike = {(a, b): likeness(table[a][0], table[b][0]) for a in table for b in table if a < b}
    while alike:
        pair = max(alike, key=lambda pair: (alike[pair], -pair[0], -pair[1]))
        if alike.pop(pair) < _ALIKE:
            break
        if pair[0] in table and pair[1] in table:
            joined = [*table.pop(pair[0]), *table.pop(pair[1])]
            number = max([*table, *pair]) + 1
            alike = {key: value for key, value in alike.items() if not set(key) & set(pair)}
            alike.update({(at, number): _average(other, joined) for at, other in table.items()})
            table[number] = joined
    return list(table.values())


def _average(one: Sequence[Laid], other: Sequence[Laid]) -> float:
    pairs = [likeness(a, b) for a in one[:_PAIRED] for b in other[:_PAIRED]]
    return 0.0 if 0.0 in pairs else sum(pairs) / len(pairs)


def likeness(one: Laid, other: Laid) -> float:
    """0 to 1: what two texts have in common, by weight; 0 without a word in common."""
    form = form_of([one, other])
    places = [column[0] for column in form.columns]
    if not any(one.tokens[place].kind == "word" for place in places):
        return 0.0
    short, long = sorted(sum(_weight(laid, at) for at in range(len(laid.tokens))) for laid in (one, other))
    same = sum(_weight(one, place) for place in places)
    return 2 * same / (short + long) * (short / long) ** 0.5 if long else 0.0


def _weight(laid: Laid, at: int) -> float:
    token = laid.tokens[at]
    following = laid.tokens[at + 1] if at + 1 < len(laid.tokens) else None
    measured = following is not None and following.kind == "number" and not following.text.isdecimal()
    unit = len(token.text) == 1 and at > 0 and laid.tokens[at - 1].kind == "number"
    if token.kind == "word" and (measured or unit):
        return _LIGHT_WORD
    if token.kind == "word" and len(token.text) == 1:
        return _LETTER
    return _WEIGHT.get(token.kind, 0.0)


def _rules(group: Sequence[Laid]) -> list[RuleTable]:
    """One rule for the group; one for each word where a word varies as a state would, but no input does."""
    step = -(-len(group) // _MOST_LAID)
    form = form_of(list(group)[::step])
    words = _word_spans(form)
    number = _number_span(form)
    state = words[-1] if words else _flag_span(form, number)
    given = number or (words[0] if len(words) > 1 else None)
    if given is None and state is not None and len(set(state.values(form.laid))) > 1:
        return [rule for part in _parted(group, form, state) for rule in _rules(part)]
    if given is None or state is None:
        return [drafts_of(form, Fields(), cut=False).rules[0].model_copy(update={"means": "alive"})]
    draft = drafts_of(form, Fields(input=given, state=state)).rules[0]
    said = {one.value(place).casefold(): one.value(place) for one, place in zip(form.laid, state.places, strict=True)}
    active = tuple(said.values())
    return [draft.model_copy(update={"means": "input", "active": active})]


def _parted(group: Sequence[Laid], form: Form, state: Span) -> list[list[Laid]]:
    """The texts by the word that stands there; those that were not laid go with the likest."""
    parts: dict[str, list[Laid]] = {}
    for one, value in zip(form.laid, state.values(form.laid), strict=True):
        parts.setdefault(value, []).append(one)
    laid = set(form.laid)
    for one in (one for one in group if one not in laid):
        max(parts.values(), key=lambda part: likeness(one, part[0])).append(one)
    return list(parts.values())


def _word_spans(form: Form) -> list[Span]:
    """Slots filled with few different words."""
    found = []
    for number in range(len(form.columns) + 1):
        slot = form.slot(number)
        values = slot.values(form.laid)
        if not all(values) or any(token.kind != "word" for token in slot.tokens(form.laid)):
            continue
        if 2 <= len(set(values)) <= _MOST_STATES and (len(values) > len(set(values)) or len(values) <= 3):
            found.append(slot)
    return found


def _number_span(form: Form) -> Span | None:
    """The first small whole number that varies and stands behind a word."""
    for column in range(len(form.columns)):
        values = form.column_values(column)
        whole = form.token(column).kind == "number" and all(
            value.isdecimal() and int(value) <= _MOST_INPUT for value in values
        )
        behind_word = column > 0 and form.token(column - 1).kind == "word"
        if whole and behind_word and len(set(values)) > 1 and not _measured(form, column):
            return form.column_span(column)
    return None


def _flag_span(form: Form, number: Span | None) -> Span | None:
    """A 0 or 1 after the input."""
    if number is None:
        return None
    for column in range(len(form.columns)):
        span = form.column_span(column)
        if span.places[0][0] > number.places[0][0] and set(form.column_values(column)) == {"0", "1"}:
            return span
    return None


def _measured(form: Form, column: int) -> bool:
    for one, at in zip(form.laid, form.columns[column], strict=True):
        if at + 1 < len(one.tokens):
            after = one.tokens[at + 1]
            if after.start == one.tokens[at].end and (after.text in "%°" or after.kind == "word"):
                return True
    return False
