"""Token sequences of several texts → the tokens they have in common, in order (the longest common subsequence, weighted).

Out: for each common token its place in every text. Words weigh more than numbers, these more than punctuation, and a
match next to another match a little more, so that texts are laid upon each other as a person would.
"""

from collections.abc import Sequence

from gateway.suggest.tokens import Token

_WEIGHTS = {"input": 12.0, "word": 3.0, "time": 2.0, "date": 2.0, "number": 1.2, "id": 1.0, "punct": 0.8}
_TOUCHING = 0.4
"""For a match right after another match in both texts."""


def common(texts: Sequence[Sequence[Token]]) -> list[tuple[int, ...]]:
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
    touching = i + 1 < len(left) and places[i + 1] == places[i] + 1 and j + 1 < len(right) and ended[i + 1][j + 1] > 0
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
