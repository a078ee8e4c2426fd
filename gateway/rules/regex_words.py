"""A rule's regex → words that must stand in every text it fits, for the index.

Only what is certain: plain letters and digits outside all groups and sets, not repeated and not optional, with something
on either side that cannot lengthen them. Whatever is unusual in a regex (alternatives at the top, flags, fuzzy matching)
makes it a rule that is always tried.
"""

import regex

from gateway.rules.folded import runs

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
_FLAGS = regex.compile(r"\(\?[a-zA-Z0-9-]*[):]|\(\?[>|&R]|\(\*|\\[KGLQXRpPNkg]|\{[^0-9]")
_HARMLESS = regex.compile(r"\(\?:")


def sure_words(source: str, *, whole: bool) -> list[str]:
    """Folded runs of letters or digits; empty where nothing is certain. `whole`: the regex must fit the whole text."""
    if _FLAGS.search(_HARMLESS.sub("(", source)) or not source.isascii():
        return []
    row = _row(source)
    if row is None:
        return []
    fixed = row if whole else f"{_OPEN}{row}{_OPEN}"
    found = []
    for piece in regex.finditer(r"[A-Za-z]+|[0-9]+", fixed):
        beside = fixed[max(piece.start() - 1, 0) : piece.start()] + fixed[piece.end() : piece.end() + 1]
        if _OPEN not in beside:
            found.extend(runs(piece.group().casefold()))
    return found


def _row(source: str) -> str | None:
    """The regex as certain characters with _OPEN between them; None where it holds something unusual."""
    parts: list[str] = []
    at = 0
    while at < len(source):
        found = _ITEM.match(source, at)
        if found is None:
            return None
        parts.append(_certain(found))
        at = found.end()
    return "".join(parts)


def _certain(found: "regex.Match[str]") -> str:
    often = found.group("often") or ""
    if found.lastgroup == "often" and found.group("edge"):
        return _OPEN
    if found.group("edge"):
        return ""
    if found.group("space"):
        return " " if not often or often[0] == "+" else _OPEN
    if often or found.group("group") or found.group("set") or found.group("kind"):
        return _OPEN
    return str(found.group("item")).lstrip("\\")
