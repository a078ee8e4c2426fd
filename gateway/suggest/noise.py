"""Labelled texts → the same texts with the words marked that have nothing to do with the label.

A word between the same two neighbours that comes with several inputs and with both states, where other such words stand
as well, is noise like a time or a counter (who took the alarm, which mast it went over), also in a text of a kind in
which it was seen but once.
"""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import replace

from gateway.suggest.forms import Laid
from gateway.suggest.tokens import Token

Place = tuple[str, str]
_NOISY_WORDS = 2
_DIFFERENT_WORDS = 3


def noise_marked(laid: Sequence[Laid]) -> list[Laid]:
    """Noise words become identifiers, aligned by kind."""
    noisy = _noisy_places(laid)
    if not noisy:
        return list(laid)
    return [replace(one, tokens=_marked(one.tokens, noisy)) for one in laid]


def _marked(tokens: Sequence[Token], noisy: set[Place]) -> tuple[Token, ...]:
    return tuple(
        replace(token, kind="id", symbol="<id>") if token.kind == "word" and _place(tokens, at) in noisy else token
        for at, token in enumerate(tokens)
    )


def _noisy_places(laid: Sequence[Laid]) -> set[Place]:
    repeated: set[Place] = set()
    labels: dict[Place, dict[str, set[tuple[str, str]]]] = defaultdict(lambda: defaultdict(set))
    for one in laid:
        label = one.label
        if label is not None:
            sides = (label.input or label.means, label.state or label.means)
            for at, token in enumerate(one.tokens):
                if token.kind == "word":
                    labels[_place(one.tokens, at)][token.symbol].add(sides)
        repeated.update(_twice(one.tokens))
    return {place for place, words in labels.items() if place not in repeated and _says_nothing(words)}


def _twice(tokens: Sequence[Token]) -> set[Place]:
    """Places that one text has twice ('"' and '"' around every word of a keyed text): they tell nothing apart."""
    places = Counter(_place(tokens, at) for at, token in enumerate(tokens) if token.kind == "word")
    return {place for place, many in places.items() if many > 1}


def _says_nothing(words: dict[str, set[tuple[str, str]]]) -> bool:
    noisy = [word for word, seen in words.items() if len({a for a, _ in seen}) > 1 and len({b for _, b in seen}) > 1]
    return len(words) >= _DIFFERENT_WORDS and len(noisy) >= _NOISY_WORDS


def _place(tokens: Sequence[Token], at: int) -> Place:
    left = tokens[at - 1].symbol if at else "^"
    right = tokens[at + 1].symbol if at + 1 < len(tokens) else "$"
    return left, right
