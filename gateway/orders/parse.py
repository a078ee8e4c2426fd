"""What a contact texted → one order of a closed union.

In: the text, the accepted words by key (from the phrase file), the tanks as (id, name). Case, accents and end punctuation
do not matter. A slip of one letter is forgiven only for words that merely ask (TANKS, WEEK, WORDS), never for those that do
something; a longer text that only begins with a bare word is not that word, so that an automatic reply takes nothing.
"""

import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from rapidfuzz.distance import DamerauLevenshtein

from gateway.settings.durations import duration

FORGIVEN = ("tanks", "week", "words")
LONGEST_WORK = timedelta(days=31)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ok:
    """Takes the call-out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tanks:
    """Asks for every tank and controller."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """Asks for the last seven days."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """Asks which words there are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dry:
    """The taps have run dry."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """Work on a tank; None where the tank or the time was not understood."""

    tank: str | None
    duration: timedelta | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A remark for the history; may be empty."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown:
    """Nothing that is known."""


Order = Ok | Tanks | Week | Words | Dry | Work | Note | Unknown


def parse(text: str, words: Mapping[str, Sequence[str]], tanks: Sequence[tuple[str, str]]) -> Order:
    """The order in the text."""
    bare = text.strip()
    first, _, rest = bare.partition(" ") if " " in bare else (bare.partition("\n")[0], "", bare.partition("\n")[2])
    first, rest = first.rstrip(".,:!;"), rest.strip()
    if _is(first, words["note"]):
        return Note(text=rest)
    if _is(first, words["work"]):
        return _work(rest, tanks)
    alone = bare.rstrip(" .!?;,:")
    for key, order in (("ok", Ok()), ("dry", Dry()), ("tanks", Tanks()), ("week", Week()), ("words", Words())):
        if _is(alone, words[key]):
            return order
    for key, order in (("tanks", Tanks()), ("week", Week()), ("words", Words())):
        if key in FORGIVEN and any(_near(alone, word) for word in words[key]):
            return order
    return Unknown()


def folded(said: str) -> str:
    """Without case and accents, white space single."""
    apart = unicodedata.normalize("NFKD", said.casefold())
    return " ".join("".join(char for char in apart if not unicodedata.combining(char)).split())


def _is(said: str, words: Sequence[str]) -> bool:
    return folded(said) in {folded(word) for word in words}


def _near(said: str, word: str) -> bool:
    return len(word) >= 4 and DamerauLevenshtein.distance(folded(said), folded(word), score_cutoff=1) <= 1


def _work(rest: str, tanks: Sequence[tuple[str, str]]) -> Work:
    said = folded(rest)
    for said_name, tank in sorted(((folded(one), id_) for id_, full in tanks for one in (id_, full)), key=_longest):
        if said == said_name:
            return Work(tank=tank, duration=None)
        if said.startswith(f"{said_name} "):
            return Work(tank=tank, duration=_duration(said.removeprefix(said_name)))
    only = tanks[0][0] if len(tanks) == 1 else None
    return Work(tank=only, duration=_duration(said))


def _longest(pair: tuple[str, str]) -> int:
    return -len(pair[0])


def _duration(said: str) -> timedelta | None:
    try:
        length = duration(said.strip())
    except ValueError:
        return None
    return length if timedelta(0) < length <= LONGEST_WORK else None
