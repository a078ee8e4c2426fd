"""A rule's regex → words that must stand in every text it fits, for the index.

Only what is certain: plain letters and digits outside all groups and sets, not repeated and not optional, with something
on either side that cannot lengthen them. Whatever is unusual in a regex (alternatives at the top, flags, fuzzy matching)
makes it a rule that is always tried.
"""

import regex

from gateway.rules.folded_text import find_runs

_ITEM = regex.compile(
    r"""
    (?P<item>
        (?P<group>\((?:\\.|\[(?:\\.|[^\]\\])*\]|(?&inner)|[^()\[\]\\])*\))
      | (?P<set>\[\^?\]?(?:\\.|[^\]\\])*\])
      | (?P<space>\\s)
      | (?P<edge>\^|\$|\\[bAZ])
      | (?P<escaped>\\[^\w\s])
      | (?P<kind>\\[dDwWS]|\.)
      | (?P<plain>[A-Za-z0-9 ,:;=\#!%/_<>@"'~&-])
    )
    (?P<often>(?:[*?+]|\{\d+(?:,\d*)?\})[?+]?)?
    (?(DEFINE)(?P<inner>\((?:\\.|\[(?:\\.|[^\]\\])*\]|(?&inner)|[^()\[\]\\])*\)))
    """,
    regex.VERBOSE,
)
_OPEN = "\0"
"""Something that may end in a letter or a digit, or be missing."""
# flags, look-around, atomic and conditional groups, back references, verbs, named characters, fuzzy matching
_UNUSUAL = regex.compile(r"\(\?[a-zA-Z0-9-]*[):]|\(\?[>|&R]|\(\*|\\[KGLQXRpPNkg]|\{[^0-9]")
_PLAIN_GROUP = regex.compile(r"\(\?:")


def certain_words(source: str, *, whole: bool) -> list[str]:
    """Folded runs of letters or digits; empty where nothing is certain. `whole`: the regex must fit the whole text."""
    if _UNUSUAL.search(_PLAIN_GROUP.sub("(", source)) or not source.isascii():
        return []
    row = _read_row(source)
    if row is None:
        return []
    fixed = row if whole else f"{_OPEN}{row}{_OPEN}"
    words = []
    for piece in regex.finditer(r"[A-Za-z]+|[0-9]+", fixed):
        beside = fixed[max(piece.start() - 1, 0) : piece.start()] + fixed[piece.end() : piece.end() + 1]
        if _OPEN not in beside:
            words.extend(find_runs(piece.group().casefold()))
    return words


def _read_row(source: str) -> str | None:
    """The regex as certain characters with _OPEN between them; None where it holds something unusual."""
    parts: list[str] = []
    at = 0
    while at < len(source):
        item = _ITEM.match(source, at)
        if item is None:
            return None
        parts.append(_certain_text(item))
        at = item.end()
    return "".join(parts)


def _certain_text(item: "regex.Match[str]") -> str:
    """An item of the regex → the character that surely stands in the text, _OPEN for what is not sure, '' for an edge of a word."""
    repeats = item.group("often") or ""
    if item.lastgroup == "often" and item.group("edge"):
        return _OPEN
    if item.group("edge"):
        return ""
    if item.group("space"):
        return " " if not repeats or repeats[0] == "+" else _OPEN
    if repeats or item.group("group") or item.group("set") or item.group("kind"):
        return _OPEN
    return str(item.group("item")).lstrip("\\")
