"""What a contact texted → one order of a closed union.

In: the text, the accepted words by key (from the phrase file), the tanks as (id, name). Case, accents, apostrophes, quotation marks and
punctuation around a word do not matter, nor what a phone quotes below. A slip of one letter is forgiven only for words that merely ask (TANKS,
WEEK, WORDS), never for those that do something; a longer text that only begins with a bare word is not that word, so that an automatic
reply takes nothing: "OK, I will see" is answered with what would be right rather than believed, since too many called is better than
none. So is a word that does something with a question mark behind it: "SAFE?" must not end what keeps people from the water.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import timedelta

from gateway.orders.order_kinds import (
    Adopt,
    Ask,
    AskDry,
    Away,
    Back,
    Dry,
    Inflow,
    Next,
    No,
    Note,
    Ok,
    Order,
    Over,
    People,
    Safe,
    Tanks,
    Unknown,
    Walk,
    Watch,
    Week,
    Words,
    Work,
    Yes,
)
from gateway.orders.spelling import bare, folded, span_of, spelled, spellings

FORGIVEN = ("tanks", "week", "words")
FORGIVEN_FROM, HINTED_FROM = 4, 3
"""Letters a word must have for one slip in it to be forgiven, or for it to be named as what was nearly meant."""

LONGEST_WORK = timedelta(days=31)
_CODE = re.compile(r"\d{4}")
_WORD = re.compile(r"[^\s:;,]+")
_QUOTED = re.compile(r"^\s*>.*$|^\s*(?:--\s*|-{3,}.*|_{3,})$[\s\S]*", re.MULTILINE)
"""What a phone's reply quotes, line by line or below a stroke, and a signature (RFC 3676 4.3)."""


_ALONE: Mapping[str, Order] = {
    "ok": Ok(),
    "no": No(),
    "dry": Dry(),
    "next": Next(),
    "safe": Safe(),
    "back": Back(),
    "flows": Inflow(runs=True),
    "stopped": Inflow(runs=False),
    "tanks": Tanks(),
    "week": Week(),
    "words": Words(),
    "words-more": Words(more=True),
}


_WITH_MORE: Mapping[str, Callable[[str], Order]] = {
    "ask": lambda said: Ask(what=_spaced(said)),
    "walk": lambda said: Walk(tank=_spaced(bare(said))),
    "watch": lambda said: Watch(said=said),
    "away": lambda said: Away(said=said),
    "people": lambda said: People(said=said),
    "adopt": lambda said: Adopt(said=bare(said)),
}
"""What stands behind the word → the order."""
_ASKED_BACK: Mapping[type, str] = {
    Ok: "ok",
    No: "no",
    Safe: "safe",
    Back: "back",
    Inflow: "flows",
    Work: "work",
    Over: "over",
    Walk: "walk",
    Away: "away",
    People: "people",
}
"""What with a question mark is none: the word's key."""


def parse(
    text: str,
    words: Mapping[str, Sequence[str]],
    tanks: Sequence[tuple[str, str]],
    controllers: Sequence[tuple[str, str]] = (),
    until: Mapping[str, Sequence[str]] | None = None,
) -> Order:
    """The order in the text. `until`: the words of `[until]`, among them those of hours and days."""
    note = _after(text, words["note"])
    if note is not None:
        return Note(text=note)
    text = _QUOTED.sub("", text)
    order = (
        _with_more(text, words, tanks, until or {})
        or _alone(text, words)
        or _one_alarm(text, words, [*tanks, *controllers])
    )
    if order is None:
        return Unknown(near=_nearly_meant(bare(text), words))
    asked_back = _ASKED_BACK.get(type(order)) if "?" in text else None
    return order if asked_back is None else Unknown(near=asked_back)


def _with_more(
    text: str, words: Mapping[str, Sequence[str]], tanks: Sequence[tuple[str, str]], until: Mapping[str, Sequence[str]]
) -> Order | None:
    """A word, and what belongs to it behind it."""
    work = _after(text, words["work"])
    if work is not None:
        return _work(work, tanks, until)
    over = _after(text, words["over"])
    if over is not None:
        tank, remainder = _tank_named(bare(_spaced(over)), tanks)
        return Over(tank=None if remainder else tank)
    code = _CODE.fullmatch(bare(_after(text, words["yes"]) or ""))
    if code is not None:
        return Yes(code=code[0])
    said_of = ((key, _after(text, words[key])) for key in _WITH_MORE)
    return next((_WITH_MORE[key](said) for key, said in said_of if said is not None), None)


def _alone(text: str, words: Mapping[str, Sequence[str]]) -> Order | None:
    """A bare word and nothing else, or a question mark."""
    words_said = bare(text)
    if not words_said and "?" in text:
        return Words()
    for key, order in _ALONE.items():
        if words_said in spelled(words[key]):
            return AskDry() if key == "dry" and "?" in text else order
    forgiven = (key for key in FORGIVEN if any(_near(words_said, word, FORGIVEN_FROM) for word in spelled(words[key])))
    return next((_ALONE[key] for key in forgiven), None)


def _one_alarm(text: str, words: Mapping[str, Sequence[str]], named: Sequence[tuple[str, str]]) -> Ok | No | None:
    """`OK house`: the word and one name and nothing else, so that no automatic reply takes anything."""
    for key, order in (("ok", Ok), ("no", No)):
        name = bare(_spaced(_after(text, words[key]) or ""))
        meant = {id for id, full in named if name and name in {bare(called) for called in _called(id, full)}}
        if len(meant) == 1:
            return order(about=meant.pop())
    return None


def _after(text: str, words: Sequence[str]) -> str | None:
    """What stands behind one of these words, as it was written; None where the text begins with none of them."""
    pieces = list(_WORD.finditer(text))
    for word in sorted(spelled(words), key=len, reverse=True):
        count = len(word.split())
        start = pieces[:count]
        if len(start) == count and bare(" ".join(piece.group() for piece in start)) == word:
            return text[start[-1].end() :].lstrip(" \t\r\n:;,").rstrip()
    return None


def _near(word_said: str, word: str, letters: int) -> bool:
    """One slip apart at most. The library loads with the first text that is no order as it stands: most runs never need it."""
    if len(word) < letters:
        return False
    from rapidfuzz.distance import DamerauLevenshtein

    return DamerauLevenshtein.distance(word_said, word, score_cutoff=1) <= 1


def _nearly_meant(text: str, words: Mapping[str, Sequence[str]]) -> str | None:
    """The key of the word that the text begins with, or that is one slip from it; one that does something before one that asks."""
    first = text.partition(" ")[0]
    keys = sorted(words, key=lambda key: key in FORGIVEN)
    begun = (key for key in keys if any(f"{text} ".startswith(f"{word} ") for word in spelled(words[key])))
    meant = next(begun, None) or next(
        (key for key in keys if any(_near(first, word, HINTED_FROM) for word in spelled(words[key]))), None
    )
    # a yes without the code that was asked for says that somebody sees to it
    return "ok" if meant == "yes" and not any(char.isdecimal() for char in text) else meant


def _work(ordered: str, tanks: Sequence[tuple[str, str]], until: Mapping[str, Sequence[str]]) -> Work:
    tank, remainder = _tank_named(_spaced(ordered), tanks)
    length = span_of(remainder, until)
    return Work(tank=tank, duration=length if length and timedelta(0) < length <= LONGEST_WORK else None)


def _tank_named(spaced: str, tanks: Sequence[tuple[str, str]]) -> tuple[str | None, str]:
    """(the tank whose id or name stands first, what stands behind it); the only tank there is need not be named."""
    names = [(name, tank) for tank, full in tanks for name in _called(tank, full)]
    fitting = [(name, tank) for name, tank in names if spaced == name or spaced.startswith(f"{name} ")]
    if not fitting:
        return tanks[0][0] if len(tanks) == 1 else None, spaced
    longest = max(len(name) for name, _ in fitting)
    meant = {tank for name, tank in fitting if len(name) == longest}
    return meant.pop() if len(meant) == 1 else None, spaced[longest:].strip(" .!")


def _called(id: str, name: str) -> list[str]:
    """How a tank or a box may be called."""
    return [_spaced(spelling) for word in (id, name) for spelling in spellings(word)]


def _spaced(text: str) -> str:
    return " ".join(re.split(r"[\s,:;]+", folded(text))).strip()
