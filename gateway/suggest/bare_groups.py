"""Texts without labels → groups of one shape, so that each is asked about once.

Of one shape are texts that differ only in what is measured or counted: times, dates, identifiers, numbers with a unit. A small whole
number stays apart, for it may name an input, unless it takes so many values in its place that it is a count.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from gateway.suggest.measured_numbers import find_measured_tokens
from gateway.suggest.samples import FORM_TO_FILL_IN, SAME_LABEL, UNKNOWN_LABEL, Label, Sample
from gateway.suggest.tokens import Token, is_small_number, tokenise

MOST_INPUTS = 8
"""A place with more different numbers than these holds a count."""
SHOWN = 3
Shape = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Texts of one shape, in the order in which they came."""

    texts: tuple[str, ...]

    @property
    def example(self) -> str:
        """The one to show."""
        return self.texts[0]


def groups_of_one_shape(texts: Sequence[str]) -> list[Group]:
    """The largest first."""
    numbers: dict[tuple[Shape, int], set[str]] = defaultdict(set)
    shaped = [(text, tokens, _shape(tokens)) for text, tokens in zip(texts, map(_telling, texts), strict=True)]
    for _, tokens, shape in shaped:
        for place, token in enumerate(tokens):
            if _may_name(tokens, place):
                numbers[shape, place].add(token.text)
    groups: dict[Shape, dict[str, None]] = defaultdict(dict)
    for text, tokens, shape in shaped:
        apart = (
            token.text if _may_name(tokens, place) and len(numbers[shape, place]) <= MOST_INPUTS else token.symbol
            for place, token in enumerate(tokens)
        )
        groups[tuple(apart)][text] = None
    return [Group(tuple(group)) for group in sorted(groups.values(), key=len, reverse=True)]


def form_to_fill_in(labelled: Sequence[Sample], groups: Sequence[Group]) -> str:
    """The file whose labels are to be filled in and given back to `suggest`: what has a label already stands there too."""
    lines = [
        FORM_TO_FILL_IN,
        "# Put in front of each, in place of the ?, before the tab, one of:",
        "#   input 1 active    the float on input 1 says that its tank is low (or full, if it is a high float)",
        "#   input 1 idle      ... that it is well again     (the number or name as the text has it)",
        "#   level 1           how much is in a tank, as the gauge on input 1 reads it",
        "#   alive             a sign of life                power-lost, power-back    its supply",
        "#   ignore            of no use                     ?  nobody knows: it is passed on word for word, always safe",
        "# = stands for the label of the line above. Then: tank-gateway suggest THIS FILE",
    ]
    lines += [f"{sample.label}\t{sample.text}" for sample in labelled if sample.label is not None]
    for group in groups:
        more = len(group.texts) - SHOWN
        lines += ["#" if more <= 0 else f"# {len(group.texts)} of this shape:", f"{UNKNOWN_LABEL}\t{group.example}"]
        lines += [f"{SAME_LABEL}\t{text}" for text in group.texts[1:SHOWN]]
    return "\n".join(lines) + "\n"


def with_label(group: Group, label: Label | None) -> list[Sample]:
    """Its texts as samples: what one of them means, all do; None: nobody knows."""
    return [Sample(text, label, asked=True) for text in group.texts]


def _telling(text: str) -> list[Token]:
    """Its tokens without what is measured; the name of that stays where there is nothing else, and a number alone where even that lacks."""
    tokens = tokenise(text)
    measured = find_measured_tokens(text, tokens)
    telling = [token for place, token in enumerate(tokens) if place not in measured]
    if any(token.kind == "word" or is_small_number(token) for token in telling):
        return telling
    names = [token for token in tokens if token.kind == "word"]
    return names or list(tokens)


def _may_name(tokens: Sequence[Token], place: int) -> bool:
    """Whether it may be an input's number; "3/5" is so many of so many."""
    beside = [tokens[at].text for at in (place - 1, place + 1) if 0 <= at < len(tokens)]
    return is_small_number(tokens[place]) and "/" not in beside


def _shape(tokens: Sequence[Token]) -> Shape:
    return tuple(token.symbol for token in tokens)
