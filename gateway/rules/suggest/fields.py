"""A form whose texts are labelled → which span is the input and which the state.

The state is a span whose value decides between active and idle; the input is the token that equals the label or, where
names stand for numbers, a span whose value decides the label. Of several, the best has few different values, made of
words, each seen more than once, without noise in it. A span that holds a name and a state in one is taken apart by what
the texts of one input, and those of one state, have in common.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from gateway.rules.suggest.forms import Form, Laid, Span
from gateway.rules.suggest.tokens import NOISE

_MOST_NUMBERS = 8
"""Different numbers a field may take; more are a measurement or a counter."""
_MANY_TEXTS = 6
"""With so many texts, a value that is seen but once looks like noise."""
_UNIT_WORDS = frozenset({"v", "volt", "volts", "c", "%", "°", "dbm", "pct", "mv", "ma", "kpa", "psi", "bar"})
_MARKS = frozenset("+-")
_LONG_PHRASE = 3
"""Words; a state or a name is rarely longer."""
_ODD = 15.0
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
        if _possible(form, span, wanted) and _decides(form, span, wanted):
            odd = _oddness(form, span, marked)
            odd += _name_oddness(form, span) if wanted == "input" else _state_oddness(form, span)
            scored.append((odd, len(scored), span))
    return [(odd, span) for odd, _, span in sorted(scored, key=lambda item: item[:2])[:_TRIED]]


def _possible(form: Form, span: Span, wanted: str) -> bool:
    """Times, dates, identifiers and measured numbers are neither input nor state; nor is a number beside a word."""
    tokens = list(span.tokens(form.laid))
    if any(token.kind == "number" for token in tokens) and any(end - start > 1 for start, end in span.places):
        return False
    if any(token.kind in ("time", "date", "id", "input") for token in tokens):
        return False
    if any(
        token.kind == "number" and (not token.text.isdecimal() or (wanted == "state" and len(token.text) > 1))
        for token in tokens
    ):
        return False
    return _of_one_kind(form, span) and not _cuts_a_number(form, span)


def _of_one_kind(form: Form, span: Span) -> bool:
    """All of its values hold words, or all are small numbers, or all are one mark."""
    kinds: set[str] = set()
    numbers: set[str] = set()
    for one, (start, end) in zip(form.laid, span.places, strict=True):
        tokens = one.tokens[start:end]
        worded = any(token.kind == "word" for token in tokens)
        kinds.add("word" if worded else tokens[0].kind)
        numbers.update(token.text for token in tokens if token.kind == "number")
    if kinds == {"punct"}:
        return set("".join(span.values(form.laid))) <= _MARKS
    return len(kinds) == 1 and len(numbers) <= _MOST_NUMBERS and all(len(number) < 3 for number in numbers)


def _name_oddness(form: Form, span: Span) -> float:
    """A number that is not the labelled one is no name, unless it keeps coming with the same label."""
    values = span.values(form.laid)
    alone = sum(values.count(value) < 2 for value in set(values))
    return _ODD if alone and any(value.isdecimal() for value in values) else 0.0


def _oddness(form: Form, span: Span, marked: Span | None) -> float:
    """Less is better."""
    texts = len(form.laid)
    tokens = list(span.tokens(form.laid))
    numbers = sum(token.kind == "number" for token in tokens) / texts
    punct = sum(token.kind == "punct" for token in tokens) / texts
    words = sum(token.kind == "word" for token in tokens) / texts
    odd = len(set(span.values(form.laid))) + 1.2 * punct + 0.1 * words
    odd += 0.0 if set(span.values(form.laid)) == {"0", "1"} else 1.5 * numbers
    odd += 0.8 * max(0.0, words - _LONG_PHRASE)
    odd += 2.0 * _shared_words(form, span)
    odd += 1.2 * _of_one_input(form, span)
    odd += 1.5 * _swallowed(form, span) + 2.5 * _astray(form, span)
    if texts >= _MANY_TEXTS:
        values = span.values(form.laid)
        odd += 1.5 * sum(values.count(value) == 1 for value in set(values))
    return odd + (0.05 * _distance(form, span, marked) if marked is not None else 0.0)


def _shared_words(form: Form, span: Span) -> int:
    """Words inside the span that come with both states without being common to all texts."""
    common = {form.token(column).symbol for column in range(len(form.columns))}
    seen: dict[str, set[str | None]] = {}
    for one, (start, end) in zip(form.laid, span.places, strict=True):
        for token in one.tokens[start:end]:
            seen.setdefault(token.symbol, set()).add(one.label.state if one.label else None)
    return sum(len(states) > 1 and symbol not in common for symbol, states in seen.items())


def _state_oddness(form: Form, span: Span) -> float:
    """A state comes with several inputs, and its words do not end or begin what says the opposite."""
    said: dict[str | None, set[str]] = {}
    for one, value in zip(form.laid, span.values(form.laid), strict=True):
        said.setdefault(one.label.state if one.label else None, set()).add(value)
    pairs = [(a, b) for a in said.get("active", ()) for b in said.get("idle", ())]
    ends = sum(a.endswith(f" {b}") or b.endswith(f" {a}") for a, b in pairs)
    begins = sum(a.startswith(f"{b} ") or b.startswith(f"{a} ") for a, b in pairs)
    return 1.2 * _of_one_input(form, span) + 3.0 * min(ends, 1) + 0.5 * min(begins, 1)


def _of_one_input(form: Form, span: Span) -> int:
    """Values that come with one input only, where there are several: a state comes with more than one."""
    seen: dict[str, set[str | None]] = {}
    for one, value in zip(form.laid, span.values(form.laid), strict=True):
        seen.setdefault(value, set()).add(one.label.input if one.label else None)
    if len(form.laid) < 4 or len({which for inputs in seen.values() for which in inputs}) < 2:
        return 0
    return sum(len(inputs) < 2 for inputs in seen.values())


def _astray(form: Form, span: Span) -> int:
    """Common tokens inside the span that neither begin nor end it in every text."""
    lost = 0
    for column in range(len(form.columns)):
        inside = [start <= at < end for at, (start, end) in zip(form.columns[column], span.places, strict=True)]
        if all(inside) and len(form.columns[column]) > 1:
            first = {at == start for at, (start, _) in zip(form.columns[column], span.places, strict=True)}
            last = {at + 1 == end for at, (_, end) in zip(form.columns[column], span.places, strict=True)}
            lost += first != {True} and last != {True}
    return lost


def _swallowed(form: Form, span: Span) -> int:
    """Common tokens inside the span: they decide nothing."""
    return sum(
        all(start <= at < end for at, (start, end) in zip(form.columns[column], span.places, strict=True))
        for column in range(len(form.columns))
        if len(set(form.column_values(column))) == 1
    )


def _cuts_a_number(form: Form, span: Span) -> bool:
    """Whether it is, or begins with, the unit of a number, or its last number has one: that is measured."""
    for one, (start, end) in zip(form.laid, span.places, strict=True):
        before = one.tokens[start - 1] if start else None
        if (
            before
            and before.kind == "number"
            and (one.tokens[start].symbol in _UNIT_WORDS or not before.text.isdecimal())
        ):
            return True
        if one.tokens[end - 1].kind == "number" and end < len(one.tokens):
            after = one.tokens[end]
            if after.start == one.tokens[end - 1].end and (after.text in "%°" or after.kind == "word"):
                return True
    return False


def _distance(form: Form, span: Span, marked: Span) -> float:
    total = 0
    for (start, end), (a, b) in zip(span.places, marked.places, strict=True):
        total += start - b if start >= b else (a - end) + 1
    return total / len(form.laid)


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
            cuts = _cuts(form.laid, slot, name_first)
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


def _cuts(laid: Sequence[Laid], slot: Span, name_first: bool) -> list[int] | None:
    """Where each text's slot is cut between name and state; None where it cannot be told."""
    rows = [
        [token.symbol if token.kind == "word" else token.text for token in one.tokens[start:end]]
        for one, (start, end) in zip(laid, slot.places, strict=True)
    ]
    keyed = [row if name_first else row[::-1] for row in rows]
    labels = [one.label for one in laid]
    names = _shared_heads(keyed, [(label.input, label.state) if label else (None, None) for label in labels])
    phrases = {
        tuple(row[len(names[label.input]) :])
        for row, label in zip(keyed, labels, strict=True)
        if label and names.get(label.input)
    }
    cuts = []
    for row, label, (start, end) in zip(keyed, labels, slot.places, strict=True):
        head = names.get(label.input) if label else None
        length = len(head) if head else _ends_with(row, phrases)
        if not 0 < length < len(row):
            return None
        cuts.append(start + length if name_first else end - length)
    return cuts


def _shared_heads(
    rows: Sequence[Sequence[str]], labels: Sequence[tuple[str | None, str | None]]
) -> dict[str | None, tuple[str, ...]]:
    """Input → what its texts of both states begin with."""
    heads: dict[str | None, tuple[str, ...]] = {}
    for wanted in {label[0] for label in labels}:
        mine = [(row, label[1]) for row, label in zip(rows, labels, strict=True) if label[0] == wanted]
        if len({state for _, state in mine}) < 2:
            continue
        head = tuple(mine[0][0])
        for row, _ in mine:
            same = 0
            while same < min(len(head), len(row)) and head[same] == row[same]:
                same += 1
            head = head[:same]
        if head:
            heads[wanted] = head
    return heads


def _ends_with(row: Sequence[str], phrases: set[tuple[str, ...]]) -> int:
    """How long the name is, where the rest is a phrase known from another input."""
    return min(
        (len(row) - len(phrase) for phrase in phrases if phrase and tuple(row[-len(phrase) :]) == phrase), default=0
    )
