"""Texts without labels → groups of kin, with fields where they vary as an input or a state would.

What means alarm and what means rest cannot be known from the texts alone: every such rule is marked to be decided, and
until it is, all its state words stand in `active`, so that what comes of it is too loud rather than silent.
"""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass

from gateway.settings.models import RuleTable
from gateway.suggest.drafts import drafts_of
from gateway.suggest.everywhere import told_apart
from gateway.suggest.fields import Fields
from gateway.suggest.figures import measured
from gateway.suggest.forms import Form, Laid, form_of
from gateway.suggest.kinship import groups_of, row_of, small
from gateway.suggest.proving import particular_first, reads_as
from gateway.suggest.tokens import tokens_of
from gateway.suggest.unlabelled import fields_in, name_span, named_values

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
    laid = told_apart([_without_figures(text) for text in dict.fromkeys(texts)])
    found: list[RuleTable] = []
    groups = groups_of(laid)
    names = [_names(_form(group)) for group in groups]
    for at, group in enumerate(groups):
        others = [values for place, several in enumerate(names) if place != at for values in several]
        found.extend(_rules(group, others, _ROUNDS))
    rules = particular_first(found)
    reads: dict[RuleTable, list[str]] = {rule: [] for rule in rules}
    for one in laid:
        first = next((rule for rule in rules if reads_as(rule, one.text) is not None), None)
        if first is not None:
            reads[first].append(one.text)
    return [Proposal(rule, tuple(mine)) for rule, mine in reads.items() if mine]


def _names(form: Form) -> list[set[str]]:
    """What may be names in this form: the words of its input or, where it has none, any that vary."""
    fields = fields_in(form)
    if fields.input is not None and fields.state is not None:
        return [set(fields.input.values(form.laid))]
    return [values for _, values in named_values(form)]


def _without_figures(text: str) -> Laid:
    """What is measured says nothing of what the text is about; unless there is nothing else."""
    tokens = tokens_of(text)
    beside = measured(text, tokens)
    kept = tuple(token for at, token in enumerate(tokens) if at not in beside)
    return Laid(text, kept if any(token.kind == "word" or small(token) for token in kept) else tokens)


def _form(group: Sequence[Laid]) -> Form:
    return form_of(list(group)[:: -(-len(group) // _MOST_LAID)])


def _rules(group: Sequence[Laid], names: Sequence[set[str]], rounds: int) -> list[RuleTable]:
    """The rules of one group, and of what they leave unread; `names`: words that vary in the other groups."""
    if rounds == 0:
        return [_as_it_stands(one) for one in group]
    form = _form(group)
    fields = fields_in(form)
    by_row = _parted(group, row_of)
    if fields.input is not None and fields.state is None and len(by_row) > 1:
        return [rule for part in by_row for rule in _rules(part, names, rounds - 1)]
    if fields.input is None:
        named = name_span(form, names)
        fields = Fields(input=named) if named is not None else fields
    rules = _of_form(form, fields)
    if any(_says_nothing(rule) for rule in rules):
        rules = [_told(form_of(part), Fields()) for part in by_row]
    rest = [one for one in group if all(reads_as(rule, one.text) is None for rule in rules)]
    return [*rules, *(_rules(rest, names, rounds - 1 if len(rest) < len(group) else 0) if rest else [])]


def _parted(group: Sequence[Laid], by: Callable[[Laid], Hashable]) -> list[list[Laid]]:
    parts: dict[Hashable, list[Laid]] = {}
    for one in group:
        parts.setdefault(by(one), []).append(one)
    return list(parts.values())


def _of_form(form: Form, fields: Fields) -> list[RuleTable]:
    """One rule; without an input, one for each word that varies as a state would."""
    if fields.input is not None or fields.state is None:
        return [_told(form, fields)]
    said = dict(zip(form.laid, fields.state.values(form.laid), strict=True))
    flags = all(token.kind == "number" for token in fields.state.tokens(form.laid))
    return [_told(form_of(part), Fields(), numbers=flags) for part in _parted(form.laid, said.__getitem__)]


def _told(form: Form, fields: Fields, *, numbers: bool = False) -> RuleTable:
    draft = drafts_of(form, fields, numbers=numbers).rules[0]
    if fields.input is None:
        return draft.model_copy(update={"means": "alive"})
    if fields.state is None:
        return draft.model_copy(update={"means": "input", "state": "active"})
    said = {
        one.value(place).casefold(): one.value(place) for one, place in zip(form.laid, fields.state.places, strict=True)
    }
    return draft.model_copy(update={"means": "input", "active": tuple(said.values()), "idle": ()})


def _says_nothing(rule: RuleTable) -> bool:
    """A rule of nothing but stars reads what it knows nothing of."""
    return rule.means != "input" and not any(map(str.isalnum, rule.text or ""))


def _as_it_stands(one: Laid) -> RuleTable:
    return _told(form_of([one]), Fields())
