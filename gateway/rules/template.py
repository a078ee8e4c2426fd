"""A rule's `text = "…"` → the pieces it is made of.

In: the template as the contract has it: literal text, `*` for anything, fields in braces. `{{`, `}}` and `{*}` stand for
the characters `{`, `}` and `*` themselves. Out: words (literal, without white space), gaps (a run of white space), stars,
fields. Several stars in a row, with or without white space between them, are one.
Raises: TemplateWrong with what is wrong and what would be right.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import regex

from gateway.facts import NUMBER_FIELDS

FIELDS = ("input", "state", *NUMBER_FIELDS, "time", "word")

_PIECE = regex.compile(
    r"(?P<escaped>\{\{|\}\}|\{\*\})|\{(?P<field>[^{}]*)\}|(?P<star>\*)|(?P<gap>\s+)|(?P<brace>[{}])|(?P<word>[^{}*\s]+)"
)


class TemplateWrong(Exception):
    """The template cannot be meant: `wrong` says what stands there, `right` what would be right; `unknown` is the field that is none."""

    def __init__(self, wrong: str, right: str, unknown: str | None = None) -> None:
        super().__init__(f"{wrong}; {right}")
        self.wrong = wrong
        self.right = right
        self.unknown = unknown


@dataclass(frozen=True, slots=True)
class Word:
    """Literal text without white space."""

    text: str


@dataclass(frozen=True, slots=True)
class Gap:
    """One run of white space."""


@dataclass(frozen=True, slots=True)
class Star:
    """Anything, also nothing."""


@dataclass(frozen=True, slots=True)
class Field:
    """One of FIELDS."""

    name: str


Piece = Word | Gap | Star | Field


def parse_template(text: str) -> tuple[Piece, ...]:
    """A template → its pieces in order; white space at both ends is dropped. Raises TemplateWrong."""
    pieces: list[Piece] = []
    for piece in _split_template(text.strip()):
        _append_joined(pieces, piece)
    if not pieces:
        raise TemplateWrong("the text is empty", "write the words that stand in the text, with * for what changes")
    names = [piece.name for piece in pieces if isinstance(piece, Field)]
    for name in names:
        if names.count(name) > 1:
            raise TemplateWrong(
                f"the field {{{name}}} stands twice", f"let {{{name}}} stand once and put * for the other"
            )
    return tuple(pieces)


def escape_template(text: str) -> str:
    """Literal text → as it must stand in a template to mean itself."""
    return text.replace("{", "{{").replace("}", "}}").replace("*", "{*}")


def _split_template(text: str) -> Iterator[Piece]:
    for token in _PIECE.finditer(text):
        match token.lastgroup:
            case "escaped":
                yield Word(token.group().replace("{{", "{").replace("}}", "}").replace("{*}", "*"))
            case "field":
                yield _field(token.group("field"))
            case "star":
                yield Star()
            case "gap":
                yield Gap()
            case "brace":
                brace = token.group()
                raise TemplateWrong(
                    f"a single {brace} stands in the text", f"write {brace * 2} for the character {brace}"
                )
            case _:
                yield Word(token.group())


def _field(name: str) -> Field:
    bare = name.strip().casefold()
    if bare not in FIELDS:
        known = " ".join(f"{{{field}}}" for field in FIELDS)
        raise TemplateWrong(
            f"{{{name}}} is no field", f"the fields are {known}; write {{{{ and }}}} for braces in the text", bare
        )
    return Field(bare)


def _append_joined(pieces: list[Piece], piece: Piece) -> None:
    """Appends a piece; words that touch become one ("{{" beside a word), and so do stars, with or without a gap between them."""
    last = pieces[-1] if pieces else None
    if isinstance(piece, Word) and isinstance(last, Word):
        pieces[-1] = Word(last.text + piece.text)
        return
    if isinstance(piece, Star) and isinstance(last, Star):
        return
    if isinstance(piece, Star) and isinstance(last, Gap) and len(pieces) > 1 and isinstance(pieces[-2], Star):
        pieces.pop()
        return
    pieces.append(piece)
