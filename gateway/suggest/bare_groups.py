"""Texts without labels → groups of kin: texts that say the same of different inputs, or the opposite of one.

Measured numbers with their names and units, times, dates and identifiers say nothing of what a text is about and are left
out. Two texts are kin where all that differs is one phrase, and where what they share is more than what every text of the
file begins or ends with; kin of kin are one group.

Numbers that stand in nearly every text, whatever else it says, are parts of the box's name or measurements. One that never changes
("BOX 7:") becomes a word of its own; one that changes ("q19") becomes noise, provided that the rest of the texts says several quite
different things: else it may be the input.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import replace

from gateway.suggest.aligned_texts import TokenisedText
from gateway.suggest.measured_numbers import find_measured_tokens
from gateway.suggest.tokens import Token, is_small_number

Row = tuple[str, ...]
NUMBER = "<n>"
_MARKS = frozenset("+-")
_MOST_ROWS = 80
_LONGEST_PHRASE = 3
EVERYWHERE = 0.85
"""A word in so many of the texts is no kinship."""


def find_groups(tokenised: Sequence[TokenisedText]) -> list[list[TokenisedText]]:
    """The largest group first; each text in one."""
    rows: dict[Row, list[TokenisedText]] = {}
    for one in tokenised:
        rows.setdefault(row_of(one), []).append(one)
    varied = frozenset(row for row in rows if len({_numbers(one) for one in rows[row]}) > 1)
    kept = sorted(rows, key=lambda row: -len(rows[row]))
    background = background_of(tokenised)
    groups: list[set[Row]] = []
    for row in kept[:_MOST_ROWS]:
        mine = [group for group in groups if any(kin(row, other, background, varied) for other in group)]
        groups = [group for group in groups if group not in mine]
        groups.append({row}.union(*mine))
    groups.extend({row} for row in kept[_MOST_ROWS:])
    found = [[one for row in kept if row in group for one in rows[row]] for group in groups]
    return sorted(found, key=len, reverse=True)


def row_of(one: TokenisedText) -> Row:
    """What the text is about: its words and small numbers in order."""
    beside = find_measured_tokens(one.text, one.tokens)
    return tuple(symbol for at, token in enumerate(one.tokens) if at not in beside and (symbol := _symbol(token)))


def _symbol(token: Token) -> str:
    if is_small_number(token):
        return NUMBER
    return token.symbol if token.kind == "word" or token.text in _MARKS else ""


def background_of(tokenised: Sequence[TokenisedText]) -> frozenset[str]:
    seen = Counter(symbol for one in tokenised for symbol in set(row_of(one)))
    return frozenset(
        symbol for symbol, many in seen.items() if symbol != NUMBER and many >= EVERYWHERE * len(tokenised)
    )


def _numbers(one: TokenisedText) -> tuple[str, ...]:
    return tuple(token.text for token in one.tokens if is_small_number(token))


def kin(one: Row, other: Row, background: frozenset[str], varied: frozenset[Row]) -> bool:
    """Whether one phrase is all that differs; `varied`: rows that came with several numbers."""
    head = _same(one, other)
    tail = min(_same(one[::-1], other[::-1]), min(len(one), len(other)) - head)
    middles = one[head : len(one) - tail], other[head : len(other) - tail]
    shared = [*one[:head], *one[len(one) - tail :]]
    strong = [symbol for symbol in shared if symbol not in background and symbol not in _MARKS]
    if strong == [NUMBER] and not head and not {one, other} <= varied:
        return False
    one_word = max(map(len, middles)) == 1 and NUMBER not in middles[0] + middles[1]
    if one_word and len([symbol for symbol in shared if symbol not in _MARKS]) > 1:
        return True
    if not all(middles):
        return _goes_on(middles[0] or middles[1], strong, at_end=not tail or not head)
    if NUMBER in middles[0] + middles[1] or max(map(len, middles)) > _LONGEST_PHRASE:
        return False
    if len(middles[0]) == len(middles[1]):
        return len(strong) >= min(len(middles[0]), 2) or NUMBER in one[:head]
    if NUMBER in one[:head]:
        return True
    ended = one[len(one) - tail :] if tail else ()
    named = [symbol for symbol in one[:head] if symbol not in background]
    return (NUMBER in ended and len(ended) > 1) or (bool(named) and not tail)


def _goes_on(more: Row, strong: Sequence[str], *, at_end: bool) -> bool:
    """One text says what the other says, and a little more."""
    if NUMBER in more or len(more) > _LONGEST_PHRASE:
        return False
    return bool(strong) if at_end else len(strong) > 1


def _same(one: Row, other: Row) -> int:
    many = 0
    while many < min(len(one), len(other)) and one[many] == other[many]:
        many += 1
    return many


_DIFFERENTLY = 3
"""So many different words follow the number of a box's name, or so many different things are said beside a measurement."""
_MANY_OF_ONE = 3

Place = tuple[str, str]


def mark_constant_numbers(tokenised: Sequence[TokenisedText]) -> list[TokenisedText]:
    """The same texts, such numbers marked."""
    sites = _sites(tokenised)
    named = _marked(tokenised, lambda before, token: (before, token.text) in sites, _as_word)
    meters = _meters(named)
    return _marked(named, lambda before, token: before in meters, _as_noise)


def _as_word(token: Token) -> Token:
    return replace(token, kind="word", symbol=token.text)


def _as_noise(token: Token) -> Token:
    return replace(token, kind="id", symbol="<id>")


def _marked(
    tokenised: Sequence[TokenisedText], chosen: Callable[[str, Token], bool], change: Callable[[Token], Token]
) -> list[TokenisedText]:
    return [
        replace(
            one,
            tokens=tuple(
                change(token) if is_small_number(token) and chosen(_before(one, at), token) else token
                for at, token in enumerate(one.tokens)
            ),
        )
        for one in tokenised
    ]


def _before(one: TokenisedText, at: int) -> str:
    return one.tokens[at - 1].symbol if at else ""


def _sites(tokenised: Sequence[TokenisedText]) -> frozenset[Place]:
    """(word before, number) of what names the box."""
    after: dict[Place, Counter[str]] = defaultdict(Counter)
    for one in tokenised:
        for at, token in enumerate(one.tokens):
            if is_small_number(token):
                said = next((other.symbol for other in one.tokens[at + 1 :] if other.kind in ("word", "number")), "")
                after[(_before(one, at), token.text)][said] += 1
    return frozenset(
        place
        for place, said in after.items()
        if said.total() >= EVERYWHERE * len(tokenised) and len(said) >= _DIFFERENTLY
    )


def _meters(tokenised: Sequence[TokenisedText]) -> frozenset[str]:
    """Words before numbers that are measured."""
    background = background_of(tokenised)
    found = set()
    for before in {
        _before(one, at) for one in tokenised for at, token in enumerate(one.tokens) if is_small_number(token)
    }:
        having = [
            one
            for one in tokenised
            if any(_before(one, at) == before and is_small_number(t) for at, t in enumerate(one.tokens))
        ]
        if (
            before in background
            and len(having) >= EVERYWHERE * len(tokenised)
            and _says_several_things(having, background)
        ):
            found.add(before)
    return frozenset(found)


def _says_several_things(tokenised: Sequence[TokenisedText], background: frozenset[str]) -> bool:
    """Whether the words beside fall into several families without a word in common, one of them with variants."""
    families: list[set[frozenset[str]]] = []
    for one in tokenised:
        words = frozenset(
            token.symbol for token in one.tokens if token.kind == "word" and token.symbol not in background
        )
        mine = [family for family in families if any(words & other for other in family)]
        families = [family for family in families if family not in mine]
        families.append({words}.union(*mine))
    largest = max(map(len, families))
    return (len(families) >= _DIFFERENTLY and largest > 1) or (len(families) > 1 and largest >= _MANY_OF_ONE)
