"""A raw text → the form in which case and white space no longer differ, with the way back to what stood there."""

from dataclasses import dataclass
from functools import cached_property

import regex

_RUN_PATTERN = regex.compile(r"[^\W\d_]+|\d+")


def fold(text: str) -> str:
    """A text with single spaces, none at its ends, case folded (Unicode full case folding: "ß" becomes "ss")."""
    return " ".join(text.split()).casefold()


def find_runs(folded: str) -> list[str]:
    """Runs of letters and runs of digits that stand in a folded text."""
    return [run.group() for run in _RUN_PATTERN.finditer(folded)]


@dataclass(frozen=True)
class FoldedText:
    """`raw` as it came, without white space at its ends; `folded` for templates; `runs` for the index."""

    raw: str
    plain: str
    folded: str

    @classmethod
    def of(cls, text: str) -> "FoldedText":
        """A raw text, folded: work that every rule shares is done once."""
        plain = " ".join(text.split())
        return cls(text.strip(), plain, plain.casefold())

    @cached_property
    def runs(self) -> frozenset[str]:
        """Runs of letters or digits that stand in it."""
        return frozenset(find_runs(self.folded))

    def as_it_stood(self, start: int, end: int) -> str:
        """A piece of `folded` in its own upper and lower case."""
        if len(self.plain) == len(self.folded):
            return self.plain[start:end]
        # folding made it longer ("Straße"): for each folded character, the one that it came from
        places = [at for at, char in enumerate(self.plain) for _ in char.casefold()]
        if start >= end:
            return ""
        return self.plain[places[start] : places[end - 1] + 1]
