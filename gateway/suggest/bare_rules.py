"""Texts without labels → groups of kin, with fields where they vary as an input or a state would.

What means alarm and what means rest cannot be known from the texts alone: every such rule is marked to be decided, and
until it is, all its state words stand in `active`, so that what comes of it is too loud rather than silent.

Fields: an input is one small number, letter or word; a state is a phrase of words, or a flag, of which there are few; each comes with
several of the other. Of all pairs the one is taken that leaves the fewest words unexplained with the fewest values.
"""

from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, product

from gateway.settings.models import RuleTable
from gateway.suggest.aligned_texts import AlignedTexts, Span, TokenisedText, align_texts
from gateway.suggest.bare_groups import find_groups, mark_constant_numbers, row_of
from gateway.suggest.labelled_fields import Fields
from gateway.suggest.measured_numbers import find_measured_tokens
from gateway.suggest.proof import label_read_by, particular_first
from gateway.suggest.rules_of_one_form import draft_rules
from gateway.suggest.tokens import is_small_number, tokenise

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
    tokenised = mark_constant_numbers([_without_figures(text) for text in dict.fromkeys(texts)])
    found: list[RuleTable] = []
    groups = find_groups(tokenised)
    names = [_names(_form(group)) for group in groups]
    for at, group in enumerate(groups):
        others = [values for place, several in enumerate(names) if place != at for values in several]
        found.extend(_rules(group, others, _ROUNDS))
    rules = particular_first(found)
    reads: dict[RuleTable, list[str]] = {rule: [] for rule in rules}
    for one in tokenised:
        first = next((rule for rule in rules if label_read_by(rule, one.text) is not None), None)
        if first is not None:
            reads[first].append(one.text)
    return [Proposal(rule, tuple(mine)) for rule, mine in reads.items() if mine]


def _names(aligned: AlignedTexts) -> list[set[str]]:
    """What may be names in this form: the words of its input or, where it has none, any that vary."""
    fields = find_bare_fields(aligned)
    if fields.input is not None and fields.state is not None:
        return [set(fields.input.values(aligned.tokenised))]
    return [values for _, values in named_values(aligned)]


def _without_figures(text: str) -> TokenisedText:
    """What is measured says nothing of what the text is about; unless there is nothing else."""
    tokens = tokenise(text)
    beside = find_measured_tokens(text, tokens)
    kept = tuple(token for at, token in enumerate(tokens) if at not in beside)
    return TokenisedText(
        text, kept if any(token.kind == "word" or is_small_number(token) for token in kept) else tokens
    )


def _form(group: Sequence[TokenisedText]) -> AlignedTexts:
    return align_texts(list(group)[:: -(-len(group) // _MOST_LAID)])


def _rules(group: Sequence[TokenisedText], names: Sequence[set[str]], rounds: int) -> list[RuleTable]:
    """The rules of one group, and of what they leave unread; `names`: words that vary in the other groups."""
    if rounds == 0:
        return [_as_it_stands(one) for one in group]
    aligned = _form(group)
    fields = find_bare_fields(aligned)
    by_row = _parted(group, row_of)
    if fields.input is not None and fields.state is None and len(by_row) > 1:
        return [rule for part in by_row for rule in _rules(part, names, rounds - 1)]
    if fields.input is None:
        named = name_span(aligned, names)
        fields = Fields(input=named) if named is not None else fields
    rules = _of_form(aligned, fields)
    if any(_says_nothing(rule) for rule in rules):
        rules = [_told(align_texts(part), Fields()) for part in by_row]
    rest = [one for one in group if all(label_read_by(rule, one.text) is None for rule in rules)]
    return [*rules, *(_rules(rest, names, rounds - 1 if len(rest) < len(group) else 0) if rest else [])]


def _parted(group: Sequence[TokenisedText], by: Callable[[TokenisedText], Hashable]) -> list[list[TokenisedText]]:
    parts: dict[Hashable, list[TokenisedText]] = {}
    for one in group:
        parts.setdefault(by(one), []).append(one)
    return list(parts.values())


def _of_form(aligned: AlignedTexts, fields: Fields) -> list[RuleTable]:
    """One rule; without an input, one for each word that varies as a state would."""
    if fields.input is not None or fields.state is None:
        return [_told(aligned, fields)]
    said = dict(zip(aligned.tokenised, fields.state.values(aligned.tokenised), strict=True))
    flags = all(token.kind == "number" for token in fields.state.tokens(aligned.tokenised))
    return [_told(align_texts(part), Fields(), numbers=flags) for part in _parted(aligned.tokenised, said.__getitem__)]


def _told(aligned: AlignedTexts, fields: Fields, *, numbers: bool = False) -> RuleTable:
    draft = draft_rules(aligned, fields, numbers=numbers).rules[0]
    if fields.input is None:
        return draft.model_copy(update={"means": "alive"})
    if fields.state is None:
        return draft.model_copy(update={"means": "input", "state": "active"})
    said = {
        one.value(place).casefold(): one.value(place)
        for one, place in zip(aligned.tokenised, fields.state.places, strict=True)
    }
    return draft.model_copy(update={"means": "input", "active": tuple(said.values()), "idle": ()})


def _says_nothing(rule: RuleTable) -> bool:
    """A rule of nothing but stars reads what it knows nothing of."""
    return rule.means != "input" and not any(map(str.isalnum, rule.text or ""))


def _as_it_stands(one: TokenisedText) -> RuleTable:
    return _told(align_texts([one]), Fields())


_MOST_STATES = 6
_LONGEST_STATE = 4
_FLAGS = frozenset("01+-")
_MOST_TRIED = 40
_CONSTANT = 3.0
"""For a number that never varies: it may as well belong to the box."""
_FLAGGED = 4.0
"""For 0 and 1 as inputs, where what would be the states are more."""
_COUNTED = 4
"""So many different numbers in a row, each higher than the last, are a counter."""


def find_bare_fields(aligned: AlignedTexts) -> Fields:
    """Input None: there is none; state None: there is but one, or none."""
    beside = [find_measured_tokens(one.text, one.tokens) for one in aligned.tokenised]
    inputs = list(_inputs(aligned, beside))
    states = list(_states(aligned, beside))
    pairs = [
        (_cost(aligned, beside, which, state), order, which, state)
        for order, (which, state) in enumerate(product(inputs[:_MOST_TRIED], states[:_MOST_TRIED]))
        if not which.touches(state)
    ]
    if pairs:
        _, _, which, state = min(pairs, key=lambda pair: pair[:2])
        return Fields(input=which, state=state)
    numbers = [span for span in inputs if _numbers(aligned, span) and len(set(span.values(aligned.tokenised))) > 1]
    if numbers and set(numbers[0].values(aligned.tokenised)) <= _FLAGS and numbers[0] in states:
        return Fields(state=numbers[0])
    if numbers:
        return Fields(input=numbers[0])
    return Fields(state=states[0]) if states else Fields()


def name_span(aligned: AlignedTexts, others: Sequence[set[str]]) -> Span | None:
    """The word that varies and takes the values that a word of another group takes: a name, not a state."""
    for span, values in named_values(aligned):
        if any(len(values & other) > 1 for other in others):
            return span
    return None


def named_values(aligned: AlignedTexts) -> list[tuple[Span, set[str]]]:
    """Single words that vary, with their values."""
    beside = [find_measured_tokens(one.text, one.tokens) for one in aligned.tokenised]
    spans = [span for span in _inputs(aligned, beside) if not _numbers(aligned, span)]
    return [(span, set(span.values(aligned.tokenised))) for span in spans]


def _spans(aligned: AlignedTexts) -> Iterator[Span]:
    seen = set()
    for column in range(len(aligned.columns)):
        span = aligned.column_span(column)
        seen.add(span.places)
        yield span
    for span in aligned.spans():
        if span.places not in seen:
            seen.add(span.places)
            yield span


def _inputs(aligned: AlignedTexts, beside: Sequence[frozenset[int]]) -> Iterator[Span]:
    """Numbers first."""
    words = []
    for span in _spans(aligned):
        if any(end - start != 1 for start, end in span.places) or _measured(span, beside):
            continue
        tokens = list(span.tokens(aligned.tokenised))
        if all(is_small_number(token) for token in tokens):
            if not _counter([int(token.text) for token in tokens]) and _named(aligned, span):
                yield span
        elif all(token.kind == "word" for token in tokens) and len(set(span.values(aligned.tokenised))) > 1:
            words.append(span)
    yield from words


def _named(aligned: AlignedTexts, span: Span) -> bool:
    """A number that never varies is an input only where it touches or follows a word."""
    if len(set(span.values(aligned.tokenised))) > 1:
        return True
    return all(
        start > 0 and one.tokens[start - 1].kind == "word"
        for one, (start, _) in zip(aligned.tokenised, span.places, strict=True)
    )


def _states(aligned: AlignedTexts, beside: Sequence[frozenset[int]]) -> Iterator[Span]:
    for span in _spans(aligned):
        values = span.values(aligned.tokenised)
        many = len(set(values))
        if not 2 <= many <= _MOST_STATES or (many == len(values) and many > 3) or _measured(span, beside):
            continue
        tokens = list(span.tokens(aligned.tokenised))
        if max(end - start for start, end in span.places) > _LONGEST_STATE or _with_gaps(aligned, span):
            continue
        flags = set(values) <= _FLAGS and all(end - start == 1 for start, end in span.places)
        if flags or all(token.kind == "word" for token in tokens):
            yield span


def _with_gaps(aligned: AlignedTexts, span: Span) -> bool:
    """Whether something measured, left out before, stands between its words."""
    return any(
        any(map(str.isalnum, one.text[left.end : right.start]))
        for one, (start, end) in zip(aligned.tokenised, span.places, strict=True)
        for left, right in pairwise(one.tokens[start:end])
    )


def _cost(aligned: AlignedTexts, beside: Sequence[frozenset[int]], which: Span, state: Span) -> float:
    texts = len(aligned.tokenised)
    names, said = which.values(aligned.tokenised), state.values(aligned.tokenised)
    cost = len(set(said)) + 0.4 * len(set(names)) + 1.5 * _unexplained(aligned, beside, which, state) / texts
    alone = [
        word for word in set(said) if len({name for name, one in zip(names, said, strict=True) if one == word}) < 2
    ]
    single = [
        name for name in set(names) if len({one for one, word in zip(names, said, strict=True) if one == name}) < 2
    ]
    cost += _FLAGGED if set(names) <= _FLAGS and len(set(said)) > 2 else 0.0
    cost += _CONSTANT if len(set(names)) == 1 else 0.0
    cost += 0.7 * len(alone) if len(set(names)) > 1 and texts > 3 else 0.0
    cost += 0.1 * len(single)
    words = sum(token.kind == "word" for token in state.tokens(aligned.tokenised)) / texts
    cost += 0.1 * words + 1.0 * _common_inside(aligned, state)
    cost += 0.0 if _numbers(aligned, which) else 0.5 if all(len(name) == 1 for name in names) else 1.5
    before = sum(a[0] > b[0] for a, b in zip(which.places, state.places, strict=True)) / texts
    apart = sum(abs(b[0] - a[1]) for a, b in zip(which.places, state.places, strict=True)) / texts
    return cost + 0.6 * before + 0.1 * apart


def _unexplained(aligned: AlignedTexts, beside: Sequence[frozenset[int]], which: Span, state: Span) -> int:
    """Words that neither are common to all texts nor belong to a field."""
    common = [set(places) for places in zip(*aligned.columns, strict=True)] or [set() for _ in aligned.tokenised]
    left = 0
    for at, one in enumerate(aligned.tokenised):
        taken = set(range(*which.places[at])) | set(range(*state.places[at])) | beside[at] | common[at]
        left += sum(token.kind == "word" and place not in taken for place, token in enumerate(one.tokens))
    return left


def _common_inside(aligned: AlignedTexts, span: Span) -> int:
    return sum(
        all(start <= at < end for at, (start, end) in zip(column, span.places, strict=True))
        and aligned.token(number).kind == "word"
        for number, column in enumerate(aligned.columns)
    )


def _numbers(aligned: AlignedTexts, span: Span) -> bool:
    return all(token.kind == "number" for token in span.tokens(aligned.tokenised))


def _measured(span: Span, beside: Sequence[frozenset[int]]) -> bool:
    return any(place in beside[at] for at, (start, end) in enumerate(span.places) for place in range(start, end))


def _counter(numbers: Sequence[int]) -> bool:
    return len(numbers) >= _COUNTED and all(a < b for a, b in pairwise(numbers))
