"""Text that ought to be TOML → its data, and every line that is no TOML, each with what would be right.

A line that cannot be read is set aside and the rest is read again, so that several slips, and the mistakes behind them, are
told in one go. Where a slip reaches over more than its own line nothing behind it is judged.
"""

import re
import tomllib
from dataclasses import dataclass
from typing import Any

_WHERE = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)")
_KEY = re.compile(r"^\s*([\w-]+)\s*=?")
_HEADING = re.compile(r"^\s*(\[{1,2})\s*([\w.-]+)")
_MOST_SLIPS = 8
_GENERAL = "see config/gateway.toml for the form"
_RIGHT = {
    "Invalid value": 'text stands in quotes: key = "…"; numbers, true and false stand without',
    "Illegal character": "close the quotes on the line they were opened on",
    "Unterminated string": "close the quotes",
    "Expected '=' after a key": "key = value",
    "Invalid statement": "key = value, or a heading such as [site]",
    "Cannot overwrite a value": "let the key stand once in its table",
    "Cannot declare": "let the table stand once; [[double]] brackets for one of several",
    "Expected newline or end of document": "one key = value on a line; text in quotes; a remark behind #",
    "Unescaped '\\'": "write \\\\ for a backslash, or put the text in 'single quotes'",
    "Expected ']": "close the heading with as many brackets as opened it: [one] or [[one of several]]",
    "Unclosed array": "close the list with ]",
    "Unclosed inline table": "close the braces with }",
}
_MEANT = (
    (re.compile("[“”„‟«»]"), 'straight quotes: "…" (these are curly ones)'),
    (re.compile("[\u00a0\u2007\u202f\u200b\ufeff]"), "ordinary spaces (there is one that only looks like it)"),
    (re.compile(r"[=\[{,]\s*[−–—]\s*\d"), "an ordinary minus: -"),
    (re.compile(r"=\s*(-?\d+),(\d+)\s*(?:$|#|[,}])"), "a decimal point: {0}.{1}"),
    (re.compile(r"=\s*(\+?[\d ]{6,})\s*(?:$|#)"), 'a phone number stands in quotes: "{0}"'),
    (
        re.compile(r"=\s*(-?\d+(?:\.\d+)?)\s?(?:m|cm|mm|l|l/min|litres?|W|V|Ah|mA|%|°C?)\s*(?:$|[#,}])"),
        "the number alone: {0}",
    ),
    (re.compile(r"=\s*(\d+(?:\.\d+)?\s?[smhdw])\s*(?:$|#)"), 'a duration stands in quotes: "{0}"'),
    (re.compile(r"=\s*(?i:true|yes|on)\s*(?:$|#)"), "true"),
    (re.compile(r"=\s*(?i:false|no|off)\s*(?:$|#)"), "false, or text in quotes"),
)
_ENDLESS = re.compile(r"\d{4000}")
_MOST_SHOWN = 100
_REACHES_ON = ("Unclosed", "Unterminated", "Expected '}'")


@dataclass(frozen=True, slots=True, kw_only=True)
class TomlSlip:
    """One line that is no TOML: what stands there, what is wrong, what would be right."""

    line: int
    found: str
    wrong: str
    right: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ParsedToml:
    """`data` None: too much is wrong to go on; `text`: what was read, its lines where they were; `lost`: keys set aside."""

    data: dict[str, Any] | None
    text: str
    slips: tuple[TomlSlip, ...] = ()
    lost: frozenset[str] = frozenset()


def parse_toml(text: str) -> ParsedToml:
    """Text → its data and its slips. Never raises."""
    slips: list[TomlSlip] = []
    lost: set[str] = set()
    lines = text.replace("\r\n", "\n").split("\n")
    while True:
        whole = "\n".join(lines)
        try:
            return ParsedToml(data=tomllib.loads(whole), text=whole, slips=tuple(slips), lost=frozenset(lost))
        except tomllib.TOMLDecodeError as error:
            slip = _slip_of_error(str(error), lines)
        except ValueError as error:  # Python makes no number of so many digits
            slip = _endless_number(str(error), lines)
        except RecursionError:
            slip = TomlSlip(line=1, found="", wrong="this is no TOML: its brackets are too deep", right=_GENERAL)
        reaches_on = any(word in slip.wrong for word in _REACHES_ON)
        if len(slips) >= _MOST_SLIPS or reaches_on or not lines[slip.line - 1].strip():
            return ParsedToml(data=None, text=whole, slips=(*slips, slip))
        slips.append(slip)
        # a heading that was only dropped would put the keys behind it into the table before it
        mended = _mend_heading(lines[slip.line - 1])
        if mended is None and lines[slip.line - 1].lstrip().startswith("["):
            return ParsedToml(data=None, text=whole, slips=tuple(slips))
        lost.update(_KEY.findall(lines[slip.line - 1]))
        lines[slip.line - 1] = mended or ""


def _endless_number(message: str, lines: list[str]) -> TomlSlip:
    line = next((number for number, text in enumerate(lines, start=1) if _ENDLESS.search(text)), 1)
    return TomlSlip(
        line=line,
        found=lines[line - 1][:_MOST_SHOWN],
        wrong=f"this is no TOML: {message.split(';')[0]}",
        right=_GENERAL,
    )


def _slip_of_error(message: str, lines: list[str]) -> TomlSlip:
    where = _WHERE.search(message)
    # "at end of document" names no line: the last one on which something stands is where the person stopped
    line = int(where[1]) if where and where[1] else max(1, len("\n".join(lines).rstrip().split("\n")))
    line = min(line, len(lines))
    bare = _WHERE.sub("", message).strip()
    right = _guess_meant(lines[line - 1]) or next(
        (right for word, right in _RIGHT.items() if bare.startswith(word)), _GENERAL
    )
    return TomlSlip(line=line, found=lines[line - 1].strip(), wrong=f"this is no TOML: {bare}", right=right)


def _guess_meant(line: str) -> str | None:
    """What a person most likely meant by a line that is no TOML, where its form says so."""
    return next((right.format(*match.groups()) for form, right in _MEANT if (match := form.search(line))), None)


def _mend_heading(line: str) -> str | None:
    """A table's heading whose brackets are not closed as they were opened, mended; None where it is none such."""
    heading = _HEADING.match(line)
    if not heading:
        return None
    mended = f"{heading[1]}{heading[2]}{']' * len(heading[1])}"
    return None if mended == line.strip() else mended
