"""Numbers that stand in nearly every text, whatever else it says → parts of the box's name, or measurements.

One that never changes ("BOX 7:") becomes a word of its own; one that changes ("q19") becomes noise, provided that the rest of
the texts says several quite different things: else it may be the input.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import replace

from gateway.suggest.forms import Laid
from gateway.suggest.kinship import EVERYWHERE, background_of, small
from gateway.suggest.tokens import Token

_DIFFERENTLY = 3
"""So many different words follow the number of a box's name, or so many different things are said beside a measurement."""
_MANY_OF_ONE = 3

Place = tuple[str, str]


def told_apart(laid: Sequence[Laid]) -> list[Laid]:
    """The same texts, such numbers marked."""
    sites = _sites(laid)
    named = _marked(laid, lambda before, token: (before, token.text) in sites, _as_word)
    meters = _meters(named)
    return _marked(named, lambda before, token: before in meters, _as_noise)


def _as_word(token: Token) -> Token:
    return replace(token, kind="word", symbol=token.text)


def _as_noise(token: Token) -> Token:
    return replace(token, kind="id", symbol="<id>")


def _marked(laid: Sequence[Laid], chosen: Callable[[str, Token], bool], change: Callable[[Token], Token]) -> list[Laid]:
    return [
        replace(
            one,
            tokens=tuple(
                change(token) if small(token) and chosen(_before(one, at), token) else token
                for at, token in enumerate(one.tokens)
            ),
        )
        for one in laid
    ]


def _before(one: Laid, at: int) -> str:
    return one.tokens[at - 1].symbol if at else ""


def _sites(laid: Sequence[Laid]) -> frozenset[Place]:
    """(word before, number) of what names the box."""
    after: dict[Place, Counter[str]] = defaultdict(Counter)
    for one in laid:
        for at, token in enumerate(one.tokens):
            if small(token):
                said = next((other.symbol for other in one.tokens[at + 1 :] if other.kind in ("word", "number")), "")
                after[(_before(one, at), token.text)][said] += 1
    return frozenset(
        place for place, said in after.items() if said.total() >= EVERYWHERE * len(laid) and len(said) >= _DIFFERENTLY
    )


def _meters(laid: Sequence[Laid]) -> frozenset[str]:
    """Words before numbers that are measured."""
    background = background_of(laid)
    found = set()
    for before in {_before(one, at) for one in laid for at, token in enumerate(one.tokens) if small(token)}:
        having = [
            one for one in laid if any(_before(one, at) == before and small(t) for at, t in enumerate(one.tokens))
        ]
        if before in background and len(having) >= EVERYWHERE * len(laid) and _says_several_things(having, background):
            found.add(before)
    return frozenset(found)


def _says_several_things(laid: Sequence[Laid], background: frozenset[str]) -> bool:
    """Whether the words beside fall into several families without a word in common, one of them with variants."""
    families: list[set[frozenset[str]]] = []
    for one in laid:
        words = frozenset(
            token.symbol for token in one.tokens if token.kind == "word" and token.symbol not in background
        )
        mine = [family for family in families if any(words & other for other in family)]
        families = [family for family in families if family not in mine]
        families.append({words}.union(*mine))
    largest = max(map(len, families))
    return (len(families) >= _DIFFERENTLY and largest > 1) or (len(families) > 1 and largest >= _MANY_OF_ONE)
