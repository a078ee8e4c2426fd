"""Texts without labels → groups of kin, with fields where they vary as an input or a state would.

What means alarm and what means rest cannot be known from the texts alone: every such rule is marked to be decided, and
until it is, all its state words stand in `active`, so that what comes of it is too loud rather than silent.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from gateway.rules.suggest.drafts import drafts_of
from gateway.rules.suggest.fields import Fields
from gateway.rules.suggest.forms import Form, Laid, form_of
from gateway.rules.suggest.kinship import groups_of
from gateway.rules.suggest.proving import particular_first, reads_as
from gateway.rules.suggest.tokens import tokens_of
from gateway.rules.suggest.unlabelled import fields_in
from gateway.settings.models import RuleTable

_MOST_LAID = 24
_ROUNDS = 3
"""So often what a group's rule does not read is taken as a group of its own."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A rule made from texts without labels."""

    rule: RuleTable
    reads: tuple[str, ...]


def bare_rules(texts: Sequence[str]) -> list[Proposal]:
    """In the order they are to be tried: those with more words of their own first."""
    laid = [Laid(text, tokens_of(text)) for text in dict.fromkeys(texts)]
    found: list[RuleTable] = []
    for group in groups_of(laid):
        found.extend(_rules(group, _ROUNDS))
    rules = particular_first(found)
    reads: dict[RuleTable, list[str]] = {rule: [] for rule in rules}
    for one in laid:
        first = next((rule for rule in rules if reads_as(rule, one.text) is not None), None)
        if first is not None:
            reads[first].append(one.text)
    return [Proposal(rule, tuple(mine)) for rule, mine in reads.items() if mine]


def _rules(group: Sequence[Laid], rounds: int) -> list[RuleTable]:
    """The rules of one group, and of what they leave unread."""
    if rounds == 0:
        return [_as_it_stands(one) for one in group]
    step = -(-len(group) // _MOST_LAID)
    form = form_of(list(group)[::step])
    fields = fields_in(form)
    if fields.input is None and fields.state is not None:
        parts: dict[str, list[Laid]] = {}
        for one, value in zip(form.laid, fields.state.values(form.laid), strict=True):
            parts.setdefault(value, []).append(one)
        rules = [_told(form_of(part), Fields()) for part in parts.values()]
    else:
        rules = [_told(form, fields)]
    rest = [one for one in group if all(reads_as(rule, one.text) is None for rule in rules)]
    return [*rules, *(_rules(rest, rounds - 1 if len(rest) < len(group) else 0) if rest else [])]


def _told(form: Form, fields: Fields) -> RuleTable:
    draft = drafts_of(form, fields).rules[0]
    if fields.input is None:
        return draft.model_copy(update={"means": "alive"})
    if fields.state is None:
        return draft.model_copy(update={"means": "input", "state": "active"})
    said = {
        one.value(place).casefold(): one.value(place) for one, place in zip(form.laid, fields.state.places, strict=True)
    }
    return draft.model_copy(update={"means": "input", "active": tuple(said.values()), "idle": ()})


def _as_it_stands(one: Laid) -> RuleTable:
    return _told(form_of([one]), Fields())
