"""Texts of one form → what is common to them and what lies between, as spans one can ask about.

A form is a row of items: a slot (perhaps empty), a common token, a slot, a common token, … A span is a stretch of items,
or the first or last tokens of a slot; it has one value in every text. Fields are sought among spans, never among fixed
positions, so words may number one in one text and three in another.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from gateway.suggest.samples import Label
from gateway.suggest.tokens import Token

_LONGEST_RANGE = 9
"""Items in one span: four common tokens and the slots about them."""
_EDGE_TOKENS = 4


@dataclass(frozen=True, slots=True)
class TokenisedText:
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


def overlaps(first: Sequence[tuple[int, int]], second: Sequence[tuple[int, int]]) -> bool:
    """Whether two stretches (from, up to), one of each a text, share something in any text."""
    return any(a < d and c < b for (a, b), (c, d) in zip(first, second, strict=True))


@dataclass(frozen=True, slots=True)
class Span:
    """For every text of a form the tokens (from, up to) that the span covers; `words`: no noise and no input in it."""

    places: tuple[tuple[int, int], ...]

    def values(self, tokenised: Sequence[TokenisedText]) -> list[str]:
        """Folded, one per text."""
        return [sample.value(place).casefold() for sample, place in zip(tokenised, self.places, strict=True)]

    def tokens(self, tokenised: Sequence[TokenisedText]) -> Iterator[Token]:
        """All tokens it covers in all texts."""
        for sample, (start, end) in zip(tokenised, self.places, strict=True):
            yield from sample.tokens[start:end]


@dataclass(frozen=True, slots=True)
class AlignedTexts:
    """`columns`: places of every common token, one index per text."""

    tokenised: tuple[TokenisedText, ...]
    columns: tuple[tuple[int, ...], ...]

    def token(self, column: int) -> Token:
        """The common token as it stands in the first text."""
        return self.tokenised[0].tokens[self.columns[column][0]]

    def column_values(self, column: int) -> list[str]:
        """What stands there, in each text."""
        return [sample.tokens[at].text for sample, at in zip(self.tokenised, self.columns[column], strict=True)]

    def column_span(self, column: int) -> Span:
        """A common token as a span."""
        return Span(tuple((at, at + 1) for at in self.columns[column]))

    def slot(self, number: int) -> Span:
        """What lies before common token `number` (the last: behind them all)."""
        ends = (
            self.columns[number]
            if number < len(self.columns)
            else tuple(len(sample.tokens) for sample in self.tokenised)
        )
        starts = tuple(at + 1 for at in self.columns[number - 1]) if number else (0,) * len(self.tokenised)
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
            start + _words(sample.tokens[start:end])
            for sample, (start, end) in zip(self.tokenised, slot.places, strict=True)
        ]
        trails = [
            end - _words(sample.tokens[start:end][::-1])
            for sample, (start, end) in zip(self.tokenised, slot.places, strict=True)
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


def align_texts(tokenised: Sequence[TokenisedText]) -> AlignedTexts:
    """Lays the texts upon each other."""
    return AlignedTexts(tuple(tokenised), tuple(find_common_tokens([sample.tokens for sample in tokenised])))


_WEIGHTS = {"input": 12.0, "word": 3.0, "time": 2.0, "date": 2.0, "number": 1.2, "id": 1.0, "punct": 0.8}
_TOUCHING = 0.4
"""For a match right after another match in both texts."""


def find_common_tokens(texts: Sequence[Sequence[Token]]) -> list[tuple[int, ...]]:
    """Places of each common token: one tuple per token, with one index per text."""
    order = sorted(range(len(texts)), key=lambda at: len(texts[at]))
    first = order[0]
    columns: list[dict[int, int]] = [{first: at} for at in range(len(texts[first]))]
    for at in order[1:]:
        kept = [texts[first][column[first]] for column in columns]
        pairs = _aligned(kept, [column[first] for column in columns], texts[at])
        columns = [{**columns[left], at: right} for left, right in pairs]
    return [tuple(column[at] for at in range(len(texts))) for column in columns]


def _aligned(left: Sequence[Token], places: Sequence[int], right: Sequence[Token]) -> list[tuple[int, int]]:
    """Index pairs of equal symbols with the greatest weight."""
    rows, cols = len(left), len(right)
    best = [[0.0] * (cols + 1) for _ in range(rows + 1)]
    ended = [[0.0] * (cols + 1) for _ in range(rows + 1)]
    for i in range(rows - 1, -1, -1):
        for j in range(cols - 1, -1, -1):
            ended[i][j] = _match(left, places, right, best, ended, i, j)
            best[i][j] = max(best[i + 1][j], best[i][j + 1], ended[i][j])
    return _walked(left, right, best, ended)


def _match(
    left: Sequence[Token],
    places: Sequence[int],
    right: Sequence[Token],
    best: list[list[float]],
    ended: list[list[float]],
    i: int,
    j: int,
) -> float:
    """The weight of what follows when these two are laid upon each other."""
    if left[i].symbol != right[j].symbol:
        return 0.0
    touching = i + 1 < len(left) and places[i + 1] == places[i] + 1 and ended[i + 1][j + 1] > 0
    follow = max(best[i + 1][j + 1], ended[i + 1][j + 1] + _TOUCHING) if touching else best[i + 1][j + 1]
    same = 0.2 if left[i].text == right[j].text else 0.0
    return _WEIGHTS[left[i].kind] + same + follow


def _walked(
    left: Sequence[Token], right: Sequence[Token], best: list[list[float]], ended: list[list[float]]
) -> list[tuple[int, int]]:
    pairs = []
    i = j = 0
    while i < len(left) and j < len(right):
        if ended[i][j] > 0 and ended[i][j] >= max(best[i + 1][j], best[i][j + 1]) - 1e-9:
            pairs.append((i, j))
            i, j = i + 1, j + 1
        elif best[i + 1][j] >= best[i][j + 1]:
            i += 1
        else:
            j += 1
    return pairs
