"""Phrase files → plain messages that fit.

`load_phrases(language)` reads `<language>.toml` beside this file. `Phrasebook.say(key, values)` puts a message together:
the `head`, then each of `more` in order while it finds room in the segments. A piece that needs a value nobody knows
(None or missing) is left out; a head that does loses only that value. Names in another alphabet are transliterated
where that keeps the message in its segments.
"""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from functools import lru_cache
from importlib import resources
from typing import Any, Literal

from gateway.gsm.segments import measure
from gateway.gsm.translit import to_gsm

Line = Literal["mobile", "landline"]
_FIELD = re.compile(r"\{([a-z_]+)\}")
ELLIPSIS = "..."
SEGMENT_CHARACTERS = 160


@dataclass(frozen=True, slots=True)
class Phrasebook:
    """One language."""

    language: str
    data: Mapping[str, Any]

    @property
    def own_alphabet(self) -> bool:
        """Whether the language itself needs letters outside the GSM alphabet."""
        return bool(self.data.get("alphabet") == "own")

    def words(self) -> Mapping[str, tuple[str, ...]]:
        """Which texts a contact may send, by key (`ok`, `tanks`, …)."""
        return {key: tuple(words) for key, words in self.data["words"].items()}

    def label(self, key: str, **values: object) -> str:
        """A short word; the key itself where the file has none."""
        return _filled(str(self.data["label"].get(key, key)), values) or key

    def one(self, table: str, key: str | None) -> str | None:
        """A ready sentence of `[cause]`, `[advice]`, `[mobile]` …; None where there is none."""
        return (self.data.get(table, {}).get(key) or None) if key else None

    def has(self, key: str) -> bool:
        """Whether there is a message of this kind at all."""
        return key in self.data["said"]

    def say(self, key: str, values: Mapping[str, object], *, segments: int = 1, line: Line = "mobile") -> str:
        """The message `[said.key]` for these values, within so many segments."""
        return self._compose(self.data["said"][key], values, segments, line)

    def prefixed(self, prefix: str, said: str, *, segments: int) -> str:
        """A message with words before it, still within its segments."""
        return _fit(f"{prefix} {said}", segments, self.own_alphabet)

    def in_full(self, key: str, values: Mapping[str, object]) -> str:
        """The head of `[said.key]` with nothing cut, for what must go on word for word."""
        return _filled(self.data["said"][key]["head"], values, keep=True) or ""

    def answer(self, key: str, values: Mapping[str, object], *, segments: int = 1) -> str:
        """The answer `[answer.key]` to a contact."""
        return self._compose(self.data["answer"][key], values, segments, "mobile")

    def week_line(self, key: str, values: Mapping[str, object]) -> str:
        """A piece of `[week]`."""
        return _filled(self.data["week"][key], values) or ""

    def span(self, length: timedelta, *, line: Line = "mobile") -> str:
        """`2 h`, `3 days`: the largest unit that says it well."""
        seconds = max(0, round(length.total_seconds()))
        for unit, size, least in (("day", 86400, 2), ("hour", 3600, 2), ("minute", 60, 2), ("second", 1, 0)):
            if seconds >= size * least:
                n = round(seconds / size)
                one, many = self.data["spans"][unit]
                return str(one if n == 1 else many).format(n=n)
        raise AssertionError(seconds)

    def month_name(self, month: int) -> str:
        """The month's full name, 1 is January."""
        from babel.dates import get_month_names

        return str(get_month_names("wide", locale=self.language)[month])

    def time(self, at: datetime, now: datetime, zone: tzinfo, *, line: Line = "mobile") -> str:
        """Local time: `14:05` today, `Mon 14:05` within six days, `3 Nov 14:05` beyond."""
        local, today = at.astimezone(zone), now.astimezone(zone)
        clock = f"{local:%H:%M}"
        days = abs((local.date() - today.date()).days)
        if days == 0:
            return clock
        if days < 7:
            return f"{_day_names(self.language)[local.weekday()]} {clock}"
        year = "" if local.year == today.year else f" {local.year}"
        return f"{local.day} {_month_names(self.language)[local.month]}{year} {clock}"

    def load_names(self) -> None:
        """The names of days and months, so that no message waits for their library."""
        _day_names(self.language), _month_names(self.language)

    def _compose(self, entry: Mapping[str, Any], values: Mapping[str, object], segments: int, line: Line) -> str:
        head = entry.get("spoken", entry["head"]) if line == "landline" else entry["head"]
        said = _fit(_filled(head, values, keep=True) or "", segments, self.own_alphabet)
        for piece in entry.get("more", ()):
            more = _filled(piece, values)
            longer = _in_alphabet(f"{said} {more}", self.own_alphabet)
            if more and measure(longer).segments <= segments:
                said = longer
        return said


@lru_cache(maxsize=8)
def load_phrases(language: str) -> Phrasebook:
    """The phrase file of a language; English where a language lacks a phrase."""
    english = _read("en")
    if language == "en":
        return Phrasebook("en", english)
    return Phrasebook(language, _over(english, _read(language)))


def languages() -> tuple[str, ...]:
    """Which phrase files there are."""
    folder = resources.files("gateway.phrases")
    return tuple(sorted(item.name.removesuffix(".toml") for item in folder.iterdir() if item.name.endswith(".toml")))


def _read(language: str) -> Mapping[str, Any]:
    return tomllib.loads(resources.files("gateway.phrases").joinpath(f"{language}.toml").read_text("utf-8"))


def _over(below: Mapping[str, Any], above: Mapping[str, Any]) -> dict[str, Any]:
    merged = dict(below)
    for key, value in above.items():
        deeper = isinstance(value, dict) and isinstance(merged.get(key), dict) and "head" not in value
        merged[key] = _over(merged[key], value) if deeper else value
    return merged


def _filled(template: str, values: Mapping[str, object], *, keep: bool = False) -> str | None:
    if not keep and any(values.get(name) in (None, "") for name in _FIELD.findall(template)):
        return None
    return _FIELD.sub(lambda found: str(values.get(found[1]) or ""), template)


def _in_alphabet(text: str, own_alphabet: bool) -> str:
    """In the GSM alphabet, unless the language itself needs another (`alphabet = "own"` in its file)."""
    return text if own_alphabet or measure(text).alphabet == "gsm7" else to_gsm(text)


def _fit(text: str, segments: int, own_alphabet: bool) -> str:
    """The text if it fits, transliterated if that is needed, else cut."""
    room = segments * SEGMENT_CHARACTERS
    shown = _in_alphabet(text[: room + 1], own_alphabet)
    if len(text) <= room and measure(shown).segments <= segments:
        return shown
    plain = to_gsm(shown)[: room + 1]
    while plain and measure(plain + ELLIPSIS).segments > segments:
        plain = plain[:-1]
    return plain.rstrip() + ELLIPSIS


@lru_cache(maxsize=8)
def _day_names(language: str) -> Mapping[int, str]:
    from babel.dates import get_day_names

    return dict(get_day_names("abbreviated", locale=language))


@lru_cache(maxsize=8)
def _month_names(language: str) -> Mapping[int, str]:
    from babel.dates import get_month_names

    return dict(get_month_names("abbreviated", locale=language))
