"""A form whose texts have no labels → which span looks like an input and which like a state.

An input is one small number, letter or word; a state is a phrase of words, or a flag, of which there are few; each comes
with several of the other. Of all pairs the one is taken that leaves the fewest words unexplained with the fewest values.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise, product

from gateway.suggest.fields import Fields
from gateway.suggest.figures import measured
from gateway.suggest.forms import Form, Span
from gateway.suggest.kinship import small

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


def fields_in(form: Form) -> Fields:
    """Input None: there is none; state None: there is but one, or none."""
    beside = [measured(one.text, one.tokens) for one in form.laid]
    inputs = list(_inputs(form, beside))
    states = list(_states(form, beside))
    pairs = [
        (_cost(form, beside, which, state), order, which, state)
        for order, (which, state) in enumerate(product(inputs[:_MOST_TRIED], states[:_MOST_TRIED]))
        if not which.touches(state)
    ]
    if pairs:
        _, _, which, state = min(pairs, key=lambda pair: pair[:2])
        return Fields(input=which, state=state)
    numbers = [span for span in inputs if _numbers(form, span) and len(set(span.values(form.laid))) > 1]
    if numbers and set(numbers[0].values(form.laid)) <= _FLAGS and numbers[0] in states:
        return Fields(state=numbers[0])
    if numbers:
        return Fields(input=numbers[0])
    return Fields(state=states[0]) if states else Fields()


def name_span(form: Form, others: Sequence[set[str]]) -> Span | None:
    """The word that varies and takes the values that a word of another group takes: a name, not a state."""
    for span, values in named_values(form):
        if any(len(values & other) > 1 for other in others):
            return span
    return None


def named_values(form: Form) -> list[tuple[Span, set[str]]]:
    """Single words that vary, with their values."""
    beside = [measured(one.text, one.tokens) for one in form.laid]
    spans = [span for span in _inputs(form, beside) if not _numbers(form, span)]
    return [(span, set(span.values(form.laid))) for span in spans]


def _spans(form: Form) -> Iterator[Span]:
    seen = set()
    for column in range(len(form.columns)):
        span = form.column_span(column)
        seen.add(span.places)
        yield span
    for span in form.spans():
        if span.places not in seen:
            seen.add(span.places)
            yield span


def _inputs(form: Form, beside: Sequence[frozenset[int]]) -> Iterator[Span]:
    """Numbers first."""
    words = []
    for span in _spans(form):
        if any(end - start != 1 for start, end in span.places) or _measured(span, beside):
            continue
        tokens = list(span.tokens(form.laid))
        if all(small(token) for token in tokens):
            if not _counter([int(token.text) for token in tokens]) and _named(form, span):
                yield span
        elif all(token.kind == "word" for token in tokens) and len(set(span.values(form.laid))) > 1:
            words.append(span)
    yield from words


def _named(form: Form, span: Span) -> bool:
    """A number that never varies is an input only where it touches or follows a word."""
    if len(set(span.values(form.laid))) > 1:
        return True
    return all(
        start > 0 and one.tokens[start - 1].kind == "word"
        for one, (start, _) in zip(form.laid, span.places, strict=True)
    )


def _states(form: Form, beside: Sequence[frozenset[int]]) -> Iterator[Span]:
    for span in _spans(form):
        values = span.values(form.laid)
        many = len(set(values))
        if not 2 <= many <= _MOST_STATES or (many == len(values) and many > 3) or _measured(span, beside):
            continue
        tokens = list(span.tokens(form.laid))
        if max(end - start for start, end in span.places) > _LONGEST_STATE or _with_gaps(form, span):
            continue
        flags = set(values) <= _FLAGS and all(end - start == 1 for start, end in span.places)
        if flags or all(token.kind == "word" for token in tokens):
            yield span


def _with_gaps(form: Form, span: Span) -> bool:
    """Whether something measured, left out before, stands between its words."""
    return any(
        any(map(str.isalnum, one.text[left.end : right.start]))
        for one, (start, end) in zip(form.laid, span.places, strict=True)
        for left, right in pairwise(one.tokens[start:end])
    )


def _cost(form: Form, beside: Sequence[frozenset[int]], which: Span, state: Span) -> float:
    texts = len(form.laid)
    names, said = which.values(form.laid), state.values(form.laid)
    cost = len(set(said)) + 0.4 * len(set(names)) + 1.5 * _unexplained(form, beside, which, state) / texts
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
    words = sum(token.kind == "word" for token in state.tokens(form.laid)) / texts
    cost += 0.1 * words + 1.0 * _common_inside(form, state)
    cost += 0.0 if _numbers(form, which) else 0.5 if all(len(name) == 1 for name in names) else 1.5
    before = sum(a[0] > b[0] for a, b in zip(which.places, state.places, strict=True)) / texts
    apart = sum(abs(b[0] - a[1]) for a, b in zip(which.places, state.places, strict=True)) / texts
    return cost + 0.6 * before + 0.1 * apart


def _unexplained(form: Form, beside: Sequence[frozenset[int]], which: Span, state: Span) -> int:
    """Words that neither are common to all texts nor belong to a field."""
    common = [set(places) for places in zip(*form.columns, strict=True)] or [set() for _ in form.laid]
    left = 0
    for at, one in enumerate(form.laid):
        taken = set(range(*which.places[at])) | set(range(*state.places[at])) | beside[at] | common[at]
        left += sum(token.kind == "word" and place not in taken for place, token in enumerate(one.tokens))
    return left


def _common_inside(form: Form, span: Span) -> int:
    return sum(
        all(start <= at < end for at, (start, end) in zip(column, span.places, strict=True))
        and form.token(number).kind == "word"
        for number, column in enumerate(form.columns)
    )


def _numbers(form: Form, span: Span) -> bool:
    return all(token.kind == "number" for token in span.tokens(form.laid))


def _measured(span: Span, beside: Sequence[frozenset[int]]) -> bool:
    return any(place in beside[at] for at, (start, end) in enumerate(span.places) for place in range(start, end))


def _counter(numbers: Sequence[int]) -> bool:
    return len(numbers) >= _COUNTED and all(a < b for a, b in pairwise(numbers))
