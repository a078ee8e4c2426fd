"""Texts without labels → groups of kin: texts that say the same of different inputs, or the opposite of one.

Measured numbers with their names and units, times, dates and identifiers say nothing of what a text is about and are left
out. Two texts are kin where all that differs is one phrase, and where what they share is more than what every text of the
file begins or ends with; kin of kin are one group.
"""

from collections import Counter
from collections.abc import Sequence

from gateway.suggest.figures import measured
from gateway.suggest.forms import Laid
from gateway.suggest.tokens import Token

Row = tuple[str, ...]
NUMBER = "<n>"
_MARKS = frozenset("+-")
_MOST_ROWS = 80
_LONGEST_PHRASE = 3
EVERYWHERE = 0.85
"""A word in so many of the texts is no kinship."""
_INPUT_DIGITS = 2
_PADDED_DIGITS = 3
"""A number of three digits may be an input where zeros lead it."""


def groups_of(laid: Sequence[Laid]) -> list[list[Laid]]:
    """The largest group first; each text in one."""
    rows: dict[Row, list[Laid]] = {}
    for one in laid:
        rows.setdefault(row_of(one), []).append(one)
    varied = frozenset(row for row in rows if len({_numbers(one) for one in rows[row]}) > 1)
    kept = sorted(rows, key=lambda row: -len(rows[row]))
    background = background_of(laid)
    groups: list[set[Row]] = []
    for row in kept[:_MOST_ROWS]:
        mine = [group for group in groups if any(kin(row, other, background, varied) for other in group)]
        groups = [group for group in groups if group not in mine]
        groups.append({row}.union(*mine))
    groups.extend({row} for row in kept[_MOST_ROWS:])
    found = [[one for row in kept if row in group for one in rows[row]] for group in groups]
    return sorted(found, key=len, reverse=True)


def row_of(one: Laid) -> Row:
    """What the text is about: its words and small numbers in order."""
    beside = measured(one.text, one.tokens)
    return tuple(symbol for at, token in enumerate(one.tokens) if at not in beside and (symbol := _symbol(token)))


def small(token: Token) -> bool:
    """A whole number that may name an input."""
    digits = len(token.text.lstrip("0")) if len(token.text) == _PADDED_DIGITS else len(token.text)
    return token.kind == "number" and token.text.isdecimal() and digits <= _INPUT_DIGITS


def _symbol(token: Token) -> str:
    if small(token):
        return NUMBER
    return token.symbol if token.kind == "word" or token.text in _MARKS else ""


def background_of(laid: Sequence[Laid]) -> frozenset[str]:
    seen = Counter(symbol for one in laid for symbol in set(row_of(one)))
    return frozenset(symbol for symbol, many in seen.items() if symbol != NUMBER and many >= EVERYWHERE * len(laid))


def _numbers(one: Laid) -> tuple[str, ...]:
    return tuple(token.text for token in one.tokens if small(token))


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
