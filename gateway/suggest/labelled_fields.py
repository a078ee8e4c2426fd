"""A form whose texts are labelled → which span is the input and which the state.

The state is a span whose value decides between active and idle; the input is the token that equals the label or, where
names stand for numbers, a span whose value decides the label. Of several, the best has few different values, made of
words, each seen more than once, without noise in it. A span that holds a name and a state in one is taken apart by what
the texts of one input, and those of one state, have in common.

What the texts of one input have in common at one end is its name; what is left is the phrase of a state, and by phrases known from
other inputs a name is told that was seen in one state only.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from gateway.suggest.aligned_texts import AlignedTexts, Span, TokenisedText
from gateway.suggest.field_plausibility import can_be_field, name_oddness, span_oddness, state_oddness
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


def find_labelled_fields(aligned: AlignedTexts) -> Iterator[Fields]:
    """Ways to see input and state in the form, the likeliest first; none where the labels cannot be told apart."""
    inputs = {sample.label.input for sample in aligned.tokenised if sample.label}
    states = {sample.label.state for sample in aligned.tokenised if sample.label}
    marked = next(
        (aligned.column_span(at) for at in range(len(aligned.columns)) if aligned.token(at).kind == "input"), None
    )
    state_spans = [(0.0, None)] if len(states) < 2 else _best(aligned, "state", marked)
    if marked is not None or len(inputs) < 2:
        yield from (Fields(input=marked, state=state, oddness=odd) for odd, state in state_spans)
        return
    for odd_name, name in _best(aligned, "input", None):
        for odd, state in state_spans:
            if state is None or (name is not None and not _touch(name, state)):
                yield Fields(input=name, named=True, state=state, oddness=odd + odd_name)
    if len(states) == 2:
        yield from _taken_apart(aligned)


def _best(aligned: AlignedTexts, wanted: str, marked: Span | None) -> list[tuple[float, Span | None]]:
    scored: list[tuple[float, int, Span | None]] = []
    seen = set()
    for span in aligned.spans():
        if span.places in seen or (marked is not None and _touch(span, marked)):
            continue
        seen.add(span.places)
        if can_be_field(aligned, span, wanted) and _decides(aligned, span, wanted):
            odd = span_oddness(aligned, span, marked)
            odd += name_oddness(aligned, span) if wanted == "input" else state_oddness(aligned, span)
            scored.append((odd, len(scored), span))
    return [(odd, span) for odd, _, span in sorted(scored, key=lambda item: item[:2])[:_TRIED]]


def _touch(first: Span, second: Span) -> bool:
    return any(a[0] < b[1] and b[0] < a[1] for a, b in zip(first.places, second.places, strict=True))


def _taken_apart(aligned: AlignedTexts) -> Iterator[Fields]:
    """A slot that holds name and state in one."""
    for number in range(len(aligned.columns) + 1):
        slot = aligned.slot(number)
        if any(end - start < 2 for start, end in slot.places):
            continue
        if any(token.kind in NOISE - {"number"} for token in slot.tokens(aligned.tokenised)):
            continue
        for name_first in (True, False):
            cuts = find_cuts(aligned.tokenised, slot, name_first)
            if cuts is None:
                continue
            heads = Span(tuple((start, cut) for (start, _), cut in zip(slot.places, cuts, strict=True)))
            tails = Span(tuple((cut, end) for (_, end), cut in zip(slot.places, cuts, strict=True)))
            name, state = (heads, tails) if name_first else (tails, heads)
            if _decides(aligned, name, "input") and _decides(aligned, state, "state"):
                yield Fields(input=name, named=True, state=state)


def _decides(aligned: AlignedTexts, span: Span, wanted: str) -> bool:
    decided: dict[str, str | None] = {}
    for sample, value in zip(aligned.tokenised, span.values(aligned.tokenised), strict=True):
        label = (sample.label.state if wanted == "state" else sample.label.input) if sample.label else None
        if decided.setdefault(value, label) != label:
            return False
    return True


def find_cuts(tokenised: Sequence[TokenisedText], slot: Span, name_first: bool) -> list[int] | None:
    """Where each text's slot is cut between name and state; None where it cannot be told."""
    rows = [
        [token.symbol if token.kind == "word" else token.text for token in sample.tokens[start:end]]
        for sample, (start, end) in zip(tokenised, slot.places, strict=True)
    ]
    keyed = [row if name_first else row[::-1] for row in rows]
    labels = [sample.label for sample in tokenised]
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
