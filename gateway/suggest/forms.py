"""Texts of one form → what is common to them and what lies between, as spans one can ask about.

A form is a row of items: a slot (perhaps empty), a common token, a slot, a common token, … A span is a stretch of items,
or the first or last tokens of a slot; it has one value in every text. Fields are sought among spans, never among fixed
positions, so words may number one in one text and three in another.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from gateway.suggest.align import common
from gateway.suggest.samples import Label
from gateway.suggest.tokens import Token

_LONGEST_RANGE = 9
"""Items in one span: four common tokens and the slots about them."""
_EDGE_TOKENS = 4


@dataclass(frozen=True, slots=True)
class Laid:
    """A text, its tokens and its label."""

    text: str
    tokens: tuple[Token, ...]
    label: Label | None = None

    @property
    def words(self) -> list[Token]:
        """Its words of more than one letter."""
        return [token for token in self.tokens if token.kind == "word" and len(token.text) > 1]

    def value(self, place: tuple[int, int]) -> str:
        """The text of the tokens from, up to (not with)."""
        start, end = place
        return self.text[self.tokens[start].start : self.tokens[end - 1].end] if end > start else ""


def overlaps(one: Sequence[tuple[int, int]], other: Sequence[tuple[int, int]]) -> bool:
    """Whether two stretches (from, up to), one of each a text, share something in any text."""
    return any(a < d and c < b for (a, b), (c, d) in zip(one, other, strict=True))


@dataclass(frozen=True, slots=True)
class Span:
    """For every text of a form the tokens (from, up to) that the span covers; `words`: no noise and no input in it."""

    places: tuple[tuple[int, int], ...]

    def values(self, laid: Sequence[Laid]) -> list[str]:
        """Folded, one per text."""
        return [one.value(place).casefold() for one, place in zip(laid, self.places, strict=True)]

    def touches(self, other: "Span") -> bool:
        """Whether the two share a token in any text."""
        return overlaps(self.places, other.places)

    def tokens(self, laid: Sequence[Laid]) -> Iterator[Token]:
        """All tokens it covers in all texts."""
        for one, (start, end) in zip(laid, self.places, strict=True):
            yield from one.tokens[start:end]


@dataclass(frozen=True, slots=True)
class Form:
    """`columns`: places of every common token, one index per text."""

    laid: tuple[Laid, ...]
    columns: tuple[tuple[int, ...], ...]

    def token(self, column: int) -> Token:
        """The common token as it stands in the first text."""
        return self.laid[0].tokens[self.columns[column][0]]

    def column_values(self, column: int) -> list[str]:
        """What stands there, in each text."""
        return [one.tokens[at].text for one, at in zip(self.laid, self.columns[column], strict=True)]

    def column_span(self, column: int) -> Span:
        """A common token as a span."""
        return Span(tuple((at, at + 1) for at in self.columns[column]))

    def slot(self, number: int) -> Span:
        """What lies before common token `number` (the last: behind them all)."""
        ends = self.columns[number] if number < len(self.columns) else tuple(len(one.tokens) for one in self.laid)
        starts = tuple(at + 1 for at in self.columns[number - 1]) if number else (0,) * len(self.laid)
        return Span(tuple(zip(starts, ends, strict=True)))

    def spans(self) -> Iterator[Span]:
        """Every span that has a value in each text, short ranges first."""
        items = [
            self.slot(number // 2) if number % 2 == 0 else self.column_span(number // 2)
            for number in range(2 * len(self.columns) + 1)
        ]
        starts = [[start for start, _ in item.places] for item in items]
        ends = [[end for _, end in item.places] for item in items]
        for length in range(1, _LONGEST_RANGE + 1):
            for first in range(len(items) - length + 1):
                places = tuple(zip(starts[first], ends[first + length - 1], strict=True))
                if all(end > start for start, end in places):
                    yield Span(places)
        for number, slot in enumerate(items[::2]):
            yield from self._edges(slot)
            yield from self._phrases(number, slot)

    def _edges(self, slot: Span) -> Iterator[Span]:
        shortest = min(end - start for start, end in slot.places)
        for many in range(1, min(_EDGE_TOKENS, shortest) + 1):
            yield Span(tuple((start, start + many) for start, _ in slot.places))
            yield Span(tuple((end - many, end) for _, end in slot.places))

    def _phrases(self, number: int, slot: Span) -> Iterator[Span]:
        """The words a slot begins or ends with, however many, alone and with the common word they follow or lead."""
        leads = [
            start + _words(one.tokens[start:end]) for one, (start, end) in zip(self.laid, slot.places, strict=True)
        ]
        trails = [
            end - _words(one.tokens[start:end][::-1]) for one, (start, end) in zip(self.laid, slot.places, strict=True)
        ]
        starts, ends = [start for start, _ in slot.places], [end for _, end in slot.places]
        options = [(starts, leads), (trails, ends)]
        if number and self.token(number - 1).kind == "word":
            options.append((list(self.columns[number - 1]), leads))
        if number < len(self.columns) and self.token(number).kind == "word":
            options.append((trails, [at + 1 for at in self.columns[number]]))
        for some, others in options:
            places = tuple(zip(some, others, strict=True))
            if all(end > start for start, end in places):
                yield Span(places)


def _words(tokens: Sequence[Token]) -> int:
    return next((at for at, token in enumerate(tokens) if token.kind != "word"), len(tokens))


def form_of(laid: Sequence[Laid]) -> Form:
    """Lays the texts upon each other."""
    return Form(tuple(laid), tuple(common([one.tokens for one in laid])))
