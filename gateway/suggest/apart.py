"""A span that holds a name and a state in one → the place where each text is cut between the two.

What the texts of one input have in common at one end is its name; what is left is the phrase of a state, and by phrases
known from other inputs a name is told that was seen in one state only.
"""

from collections.abc import Sequence

from gateway.suggest.forms import Laid, Span


def cuts_between(laid: Sequence[Laid], slot: Span, name_first: bool) -> list[int] | None:
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
