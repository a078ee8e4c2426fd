"""Lines of a chat as a phone copies it → the texts alone.

What stands in front is recognised by its form (a date, a time, a name with a colon) and by its being there in most
lines; a line without it goes on with the text above. Where only a time stands in front, it may as well belong to the
text itself: that is said (`front_open`), so that the rules can allow for both.
"""

from collections.abc import Sequence

import regex

_DATE = (
    r"(?:\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}|\d{1,2}[ .]+\p{L}{3,9}\.?(?:[ ,]+\d{2,4})?|\p{L}{3,9}\.? \d{1,2}(?:, \d{4})?)"
)
_TIME = r"\d{1,2}[:.]\d{2}(?:[:.]\d{2})?(?:[ \u202f]?[AaPp]\.?[Mm]\.?)?"
_WHEN = rf"(?:{_DATE}(?:,? (?:at )?|T){_TIME}|{_TIME},? {_DATE}|{_TIME})"
_NAME = r"(?P<name>[^:\[\]]{1,30})"
_FRONTS = tuple(
    regex.compile(pattern)
    for pattern in (
        rf"\u200e?\[{_WHEN}\] ?{_NAME}: ",
        rf"{_WHEN} [-–—] {_NAME}: ",
        rf"(?P<name>[^:\[\]<(]{{1,30}}?),? [\[(<]{_WHEN}[\])>]:? ",
        rf"{_DATE}(?:,? |T){_TIME},? {_NAME}: ",
        rf"<{_NAME}> ",
    )
)
_OPEN_FRONTS = tuple(
    regex.compile(pattern)
    for pattern in (rf"\[{_WHEN}\] ", rf"{_WHEN} [-–—] ", rf"{_DATE},? {_TIME}[:,;]? ", rf"{_TIME}[:,;]? ")
)
_HEADING = regex.compile(
    rf"{_NAME},? [\[(<]{_WHEN}[\])>]:?|[\[(<]?{_WHEN}[\])>]?(?: [-–—])? {_NAME}:".replace("?P<name>", "?:")
)
"""A line of its own above the text."""
_ENOUGH = 0.7
"""So many of the lines must have the front."""
_MOST_NAMES = 5


def chat_stripped(lines: Sequence[str]) -> tuple[list[str], bool]:
    """The texts, and whether what was in front may belong to them."""
    if len(lines) < 2:
        return list(lines), False
    if sum(_HEADING.fullmatch(line) is not None for line in lines) >= len(lines) / 4:
        return _below_headings(lines), False
    for front in _FRONTS:
        found = [match for line in lines if (match := front.match(line))]
        names = {match.group("name").strip() for match in found}
        if len(found) >= _ENOUGH * len(lines) and len(names) <= _MOST_NAMES:
            return _joined(lines, front), False
    for front in _OPEN_FRONTS:
        if all(front.match(line) for line in lines):
            return [line[match.end() :] for line in lines if (match := front.match(line))], True
    return list(lines), False


def _below_headings(lines: Sequence[str]) -> list[str]:
    texts: list[str] = []
    for line in lines:
        if _HEADING.fullmatch(line):
            texts.append("")
        elif texts:
            texts[-1] = f"{texts[-1]} {line}".strip()
    return texts


def _joined(lines: Sequence[str], front: "regex.Pattern[str]") -> list[str]:
    texts: list[str] = []
    for line in lines:
        match = front.match(line)
        if match:
            texts.append(line[match.end() :])
        elif texts and not regex.match(_WHEN, line):
            texts[-1] += f" {line}"
    return texts
