"""A rule's template or regex → one pattern with named groups, and the words that must stand in a text for it to fit.

Template: literal text (case and runs of white space alike), `*` for anything (also nothing), `{field}` for what is read;
`{{`, `}}` and `**` stand for the characters themselves. White space beside a `*` that matches nothing is optional, but
words stay whole. Raises: ValueError saying what is wrong.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import regex

from gateway.settings.models import RuleTable

FIELDS = ("input", "state", "volts", "percent", "celsius", "signal", "word")
NUMBER_FIELDS = ("volts", "percent", "celsius", "signal")
NUMBER = r"[-+]?\d+(?:[.,]\d+)?"
INPUT = r"[^\W_](?:[\w-]*[^\W_])?"
WORD = r"\S+"
FLAGS = regex.IGNORECASE | regex.DOTALL | regex.VERSION0
_PIECE = re.compile(r"\{\{|\}\}|\*\*|\*|\{[^{}]*\}|\s+|[{}]|[^\s*{}]+")
_LITERAL_WORD = re.compile(r"[^\W_]{2,}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Compiled:
    """One rule, ready: `needs` are words (lower case) of which every one stands in any text it fits."""

    number: int
    rule: RuleTable
    pattern: Any
    needs: tuple[str, ...]


def compile_rule(number: int, rule: RuleTable) -> Compiled:
    """The rule as a pattern."""
    if (rule.text is None) == (rule.regex is None):
        raise ValueError("a rule has either text or regex")
    if rule.regex is not None:
        return Compiled(number=number, rule=rule, pattern=_regex(rule), needs=())
    assert rule.text is not None
    source, needs = _template(rule)
    return Compiled(number=number, rule=rule, pattern=regex.compile(source, FLAGS), needs=needs)


def fields_of(rule: RuleTable) -> tuple[str, ...]:
    """Which fields the rule takes, in order, doubles included."""
    if rule.regex is not None:
        return tuple(regex.compile(rule.regex, FLAGS).groupindex)
    return tuple(piece[1:-1].strip() for piece in _PIECE.findall(rule.text or "") if _is_field(piece))


def _regex(rule: RuleTable) -> Any:
    try:
        pattern = regex.compile(rule.regex or "", FLAGS)
    except regex.error as wrong:
        raise ValueError(f"the regex is wrong: {wrong}") from None
    unknown = [name for name in pattern.groupindex if name not in FIELDS]
    if unknown:
        raise ValueError(f"there is no field {unknown[0]!r}; there are {', '.join(FIELDS)}")
    return pattern


def _template(rule: RuleTable) -> tuple[str, tuple[str, ...]]:
    pieces = _PIECE.findall((rule.text or "").strip())
    if not pieces:
        raise ValueError("the template is empty")
    seen: set[str] = set()
    parts: list[str] = []
    for index, piece in enumerate(pieces):
        if _is_field(piece):
            name = piece[1:-1].strip()
            if name not in FIELDS:
                raise ValueError(f"there is no field {{{name}}}; there are {', '.join(FIELDS)}")
            if name in seen:
                raise ValueError(f"the field {{{name}}} stands there twice")
            seen.add(name)
        parts.append(_part(pieces, index, rule))
    return _edged("".join(parts), pieces, rule), _needs(pieces)


def _edged(source: str, pieces: Sequence[str], rule: RuleTable) -> str:
    """Found anywhere, a template still begins and ends with whole words."""
    if rule.scope == "whole":
        return source
    left = r"(?<!\w)" if pieces[0][:1].isalnum() else ""
    right = r"(?!\w)" if pieces[-1][-1:].isalnum() else ""
    return f"{left}{source}{right}"


def _part(pieces: Sequence[str], index: int, rule: RuleTable) -> str:
    piece = pieces[index]
    before = pieces[index - 1] if index else None
    after = pieces[index + 1] if index + 1 < len(pieces) else None
    if piece == "*":
        return _anything(before, after)
    if piece.isspace():
        return "" if "*" in (before, after) else r"\s+"
    if piece in ("{{", "}}", "**"):
        return str(regex.escape(piece[0]))
    if _is_field(piece):
        return _field(piece[1:-1].strip(), rule, before, after)
    return str(regex.escape(piece))


def _anything(before: str | None, after: str | None) -> str:
    """`*` with the white space at its sides: both sides keep their words whole, and it may match nothing."""
    left = before is not None and before.isspace()
    right = after is not None and after.isspace()
    if left and right:
        return r"(?:\s+|\s.*?\s)"
    if left:
        return r"(?:\s.*?)?"
    if right:
        return r"(?:.*?\s)?"
    return ".*?"


def _field(name: str, rule: RuleTable, before: str | None, after: str | None) -> str:
    if name in NUMBER_FIELDS:
        edge = r"(?<![\d.,])" if before is None or not before[-1:].isdigit() else ""
        return f"{edge}(?P<{name}>{NUMBER})" + (r"(?!\d)" if after is None or after == "*" or after.isspace() else "")
    if name == "word":
        return f"(?P<word>{WORD if after is None or after.isspace() else WORD + '?'})"
    if name == "input":
        return f"(?P<input>{INPUT})"
    words = sorted((*rule.active, *rule.idle), key=len, reverse=True)
    if not words:
        return f"(?P<state>{WORD})"
    choices = "|".join(r"\s+".join(str(regex.escape(bit)) for bit in word.split()) for word in words)
    edges = (r"(?<!\w)" if before is None or before == "*" or before.isspace() else "", r"(?!\w)")
    follows_word = after is not None and after[:1].isalnum()
    return f"{edges[0]}(?P<state>{choices}){'' if follows_word else edges[1]}"


def _needs(pieces: Sequence[str]) -> tuple[str, ...]:
    """Whole literal words: those with white space (or an end) at both sides."""
    found: list[str] = []
    for index, piece in enumerate(pieces):
        before = pieces[index - 1] if index else " "
        after = pieces[index + 1] if index + 1 < len(pieces) else " "
        plain = not _is_field(piece) and not piece.isspace() and piece not in ("*", "{{", "}}", "**")
        if plain and before.isspace() and after.isspace():
            found.extend(_LITERAL_WORD.findall(piece.lower()) if piece.isascii() else ())
    return tuple(found)


def _is_field(piece: str) -> bool:
    return piece.startswith("{") and piece.endswith("}") and piece not in ("{{", "}}")
