"""What a contact texted → one order of a closed union.

In: the text, the accepted words by key (from the phrase file), the tanks as (id, name). Case, accents, quotation marks and
punctuation around a word do not matter. A slip of one letter is forgiven only for words that merely ask (TANKS, WEEK, WORDS),
never for those that do something; a longer text that only begins with a bare word is not that word, so that an automatic
reply takes nothing: "OK, I will see" is answered with the list rather than believed, since too many called is better than none.
"""

import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from gateway.settings.durations import parse_duration

FORGIVEN = ("tanks", "week", "words")
FORGIVEN_FROM, HINTED_FROM = 4, 3
"""Letters a word must have for one slip in it to be forgiven, or for it to be named as what was nearly meant."""

LONGEST_WORK = timedelta(days=31)
_CODE = re.compile(r"\d{4}")
_WORD = re.compile(r"[^\s:;,]+")
_AROUND = re.compile(r"^[\W_]+|[\W_]+$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Ok:
    """Takes what this person was told by then; `about`: only the alarms of that tank or controller, by its id."""

    about: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class No:
    """Cannot: the next turn is told; `about` as in OK."""

    about: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tanks:
    """Asks for every tank and controller."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """Asks for the last seven days."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """Asks which words there are; `more`: all those that a household seldom needs."""

    more: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Dry:
    """The taps have run dry."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AskDry:
    """Asks whether and when the taps run dry."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Next:
    """Asks for the next step of letting the air out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Safe:
    """The water is known to be safe again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """Work on a tank; None where the tank or the time was not understood."""

    tank: str | None
    duration: timedelta | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Over:
    """A tank is well again; None where it was not understood which."""

    tank: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A remark for the history; may be empty."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """Orders an errand; `what` as it was written (`ridge status`), may be empty."""

    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """Begins the test after fitting, or goes on with it; `tank` as it was written, "" for all."""

    tank: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Watch:
    """Says who is called first, or asks; `said` as it was written (`robin until sunday`), may be empty."""

    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Away:
    """Nobody draws water; `said` as it was written (`until sunday`), may be empty."""

    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class People:
    """So many draw water; `said` as it was written (`8 until sunday`), may be empty."""

    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Back:
    """Somebody is there again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Inflow:
    """Answers whether water runs into the tank that was asked about."""

    runs: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Adopt:
    """Says whose a new number is, with a code; from that number itself, whose it wants to be. `said` as it was written, may be empty."""

    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Yes:
    """Confirms what was asked with that code of four digits."""

    code: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown:
    """Nothing that is known. `near`: the word that does something and was nearly meant, as the phrase file has it."""

    near: str | None = None


Order = (
    Ok
    | No
    | Tanks
    | Week
    | Words
    | Dry
    | AskDry
    | Next
    | Safe
    | Work
    | Over
    | Note
    | Ask
    | Walk
    | Watch
    | Away
    | People
    | Back
    | Inflow
    | Adopt
    | Yes
    | Unknown
)
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


def parse(
    text: str,
    words: Mapping[str, Sequence[str]],
    tanks: Sequence[tuple[str, str]],
    controllers: Sequence[tuple[str, str]] = (),
) -> Order:
    """The order in the text."""
    note = _after(text, words["note"])
    if note is not None:
        return Note(text=note)
    work = _after(text, words["work"])
    if work is not None:
        return _work(work, tanks)
    over = _after(text, words["over"])
    if over is not None:
        tank, remainder = _tank_named(bare(_spaced(over)), tanks)
        return Over(tank=None if remainder else tank)
    code = _CODE.fullmatch(bare(_after(text, words["yes"]) or ""))
    if code is not None:
        return Yes(code=code[0])
    for key, made_of in _WITH_MORE.items():
        said = _after(text, words[key])
        if said is not None:
            return made_of(said)
    words_said = bare(text)
    if not words_said and "?" in text:
        return Words()
    for key, order in _ALONE.items():
        if words_said in {bare(word) for word in words[key]}:
            return AskDry() if key == "dry" and "?" in text else order
    for key in FORGIVEN:
        if any(_near(words_said, bare(word), FORGIVEN_FROM) for word in words[key]):
            return _ALONE[key]
    return _one_alarm(text, words, [*tanks, *controllers]) or Unknown(near=_nearly_meant(words_said, words))


def _one_alarm(text: str, words: Mapping[str, Sequence[str]], named: Sequence[tuple[str, str]]) -> Ok | No | None:
    """`OK house`: the word and one name and nothing else, so that no automatic reply takes anything."""
    for key, order in (("ok", Ok), ("no", No)):
        name = bare(_spaced(_after(text, words[key]) or ""))
        meant = {id for id, full in named if name and name in (bare(_spaced(id)), bare(_spaced(full)))}
        if len(meant) == 1:
            return order(about=meant.pop())
    return None


def folded(text: str) -> str:
    """Without case and accents, white space single."""
    apart = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", text).casefold())
    return " ".join("".join(char for char in apart if not unicodedata.combining(char)).split())


def bare(text: str) -> str:
    """Folded, and without whatever is neither letter nor figure around it."""
    return _AROUND.sub("", folded(text))


def _after(text: str, words: Sequence[str]) -> str | None:
    """What stands behind one of these words, as it was written; None where the text begins with none of them."""
    pieces = list(_WORD.finditer(text))
    for word in sorted(words, key=len, reverse=True):
        count = len(word.split())
        start = pieces[:count]
        if len(start) == count and bare(" ".join(piece.group() for piece in start)) == bare(word):
            return text[start[-1].end() :].lstrip(" \t\r\n:;,").rstrip()
    return None


def _near(word_said: str, word: str, letters: int) -> bool:
    """One slip apart at most. The library loads with the first text that is no order as it stands: most runs never need it."""
    if len(word) < letters:
        return False
    from rapidfuzz.distance import DamerauLevenshtein

    return DamerauLevenshtein.distance(word_said, word, score_cutoff=1) <= 1


def _nearly_meant(text: str, words: Mapping[str, Sequence[str]]) -> str | None:
    first = text.partition(" ")[0]
    acting_first = sorted(words, key=lambda key: key in FORGIVEN)
    return next((word for key in acting_first for word in words[key] if _near(first, bare(word), HINTED_FROM)), None)


def _work(ordered: str, tanks: Sequence[tuple[str, str]]) -> Work:
    tank, remainder = _tank_named(_spaced(ordered), tanks)
    return Work(tank=tank, duration=_duration(remainder))


def _tank_named(spaced: str, tanks: Sequence[tuple[str, str]]) -> tuple[str | None, str]:
    """(the tank whose id or name stands first, what stands behind it); the only tank there is need not be named."""
    names = [(_spaced(name), tank) for tank, full in tanks for name in (tank, full)]
    fitting = [(name, tank) for name, tank in names if spaced == name or spaced.startswith(f"{name} ")]
    if not fitting:
        return tanks[0][0] if len(tanks) == 1 else None, spaced
    longest = max(len(name) for name, _ in fitting)
    meant = {tank for name, tank in fitting if len(name) == longest}
    return meant.pop() if len(meant) == 1 else None, spaced[longest:].strip(" .!")


def _spaced(text: str) -> str:
    return " ".join(re.split(r"[\s,:;]+", folded(text))).strip()


def _duration(text: str) -> timedelta | None:
    try:
        length = parse_duration(text.strip(" .!"))
    except (ValueError, OverflowError):
        return None
    return length if timedelta(0) < length <= LONGEST_WORK else None
