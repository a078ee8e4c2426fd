"""A form whose texts are labelled → which span is the input and which the state.

The state is a span whose value decides between active and idle; the input is the token that equals the label or, where
names stand for numbers, a span whose value decides the label. Of several, the best has few different values, made of
words, each seen more than once, without noise in it. A span that holds a name and a state in one is taken apart by what
the texts of one input, and those of one state, have in common.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from gateway.suggest.apart import cuts_between
from gateway.suggest.forms import Form, Span
from gateway.suggest.oddness import name_oddness, oddness, possible, state_oddness
from gateway.suggest.tokens import NOISE

_TRIED = 6
"""Best spans of each kind that are put together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fields:
    """`input` None: one input, fixed (or none); `named`: the input's span is a name that stands for the label.

    `state` None: one state, fixed (or none). `oddness`: how little the spans look like an input and a state.
    """

    input: Span | None = None
    named: bool = False
    state: Span | None = None
    oddness: float = 0.0


def fields_of(form: Form) -> Iterator[Fields]:
    """Ways to see input and state in the form, the likeliest first; none where the labels cannot be told apart."""
    inputs = {one.label.input for one in form.laid if one.label}
    states = {one.label.state for one in form.laid if one.label}
    marked = next((form.column_span(at) for at in range(len(form.columns)) if form.token(at).kind == "input"), None)
    state_spans = [(0.0, None)] if len(states) < 2 else _best(form, "state", marked)
    if marked is not None or len(inputs) < 2:
        yield from (Fields(input=marked, state=state, oddness=odd) for odd, state in state_spans)
        return
    for odd_name, name in _best(form, "input", None):
        for odd, state in state_spans:
            if state is None or (name is not None and not _touch(name, state)):
                yield Fields(input=name, named=True, state=state, oddness=odd + odd_name)
    if len(states) == 2:
        yield from _taken_apart(form)


def _best(form: Form, wanted: str, marked: Span | None) -> list[tuple[float, Span | None]]:
    scored: list[tuple[float, int, Span | None]] = []
    seen = set()
    for span in form.spans():
        if span.places in seen or (marked is not None and _touch(span, marked)):
            continue
        seen.add(span.places)
        if possible(form, span, wanted) and _decides(form, span, wanted):
            odd = oddness(form, span, marked)
            odd += name_oddness(form, span) if wanted == "input" else state_oddness(form, span)
            scored.append((odd, len(scored), span))
    return [(odd, span) for odd, _, span in sorted(scored, key=lambda item: item[:2])[:_TRIED]]


def _touch(one: Span, other: Span) -> bool:
    return any(a[0] < b[1] and b[0] < a[1] for a, b in zip(one.places, other.places, strict=True))


def _taken_apart(form: Form) -> Iterator[Fields]:
    """A slot that holds name and state in one."""
    for number in range(len(form.columns) + 1):
        slot = form.slot(number)
        if any(end - start < 2 for start, end in slot.places):
            continue
        if any(token.kind in NOISE - {"number"} for token in slot.tokens(form.laid)):
            continue
        for name_first in (True, False):
            cuts = cuts_between(form.laid, slot, name_first)
            if cuts is None:
                continue
            heads = Span(tuple((start, cut) for (start, _), cut in zip(slot.places, cuts, strict=True)))
            tails = Span(tuple((cut, end) for (_, end), cut in zip(slot.places, cuts, strict=True)))
            name, state = (heads, tails) if name_first else (tails, heads)
            if _decides(form, name, "input") and _decides(form, state, "state"):
                yield Fields(input=name, named=True, state=state)


def _decides(form: Form, span: Span, wanted: str) -> bool:
    decided: dict[str, str | None] = {}
    for one, value in zip(form.laid, span.values(form.laid), strict=True):
        label = (one.label.state if wanted == "state" else one.label.input) if one.label else None
        if decided.setdefault(value, label) != label:
            return False
    return True
