"""A language's phrase file → messages in its words.

`load_phrases(language)` reads `<language>.toml` beside this file. `Phrasebook.message(key, values)` puts a message together: the `head`,
then each of `more` in order while it finds room; what keeps people from harm and how to answer is never dropped (`put_together`). A piece
that needs a value nobody knows (None or missing) is left out; a head that does loses only that value. A value may be words, a `When`, a
`timedelta`, a `Day`, a `Volts`, `Money`, a `Label` or (for `{count:messages}`) a number: each is put into words for a screen or a voice as it is
filled in.
"""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from functools import lru_cache
from importlib import resources
from typing import Any

from gateway.phrases import cldr
from gateway.phrases.cut_to_segments import cut_to_segments
from gateway.phrases.put_together import Line as Line
from gateway.phrases.put_together import put_together

FIELD = re.compile(r"\{([a-z_]+)(?::([a-z]+))?\}")
"""`{tank}`; `{count:messages}`, a number with the word of `[counts]` that goes with it."""
FREE_FIELDS = frozenset({"names", "reply", "raw", "why", "list", "matters", "reason", "caution", "tanks"})
"""What comes from elsewhere, of any length: a message that holds it is cut where it must be."""
NEVER_DROPPED = "!"
"""Begins a piece of `more` that keeps people from harm."""
UNITS = (("day", 86400, 2), ("hour", 3600, 2), ("minute", 60, 2), ("second", 1, 0))
"""Name, seconds, and the fewest of it that are said in it: 36 hours are hours, two days are days."""


@dataclass(frozen=True, slots=True)
class When:
    """A time that is said as seen from `now` in `zone`."""

    at: datetime
    now: datetime
    zone: tzinfo


@dataclass(frozen=True, slots=True)
class Day:
    """A day with its year: `30 June 2027`."""

    on: date


@dataclass(frozen=True, slots=True)
class Volts:
    """A voltage."""

    value: float


@dataclass(frozen=True, slots=True)
class Money:
    """An amount in a currency's code."""

    value: float
    currency: str

    def __str__(self) -> str:
        return f"{self.value:.2f} {self.currency}"


@dataclass(frozen=True, slots=True)
class Label:
    """A word of `[label]`, by its key."""

    key: str


@dataclass(frozen=True, slots=True)
class Phrasebook:
    """One language."""

    language: str
    data: Mapping[str, Any]

    @property
    def has_own_alphabet(self) -> bool:
        """Whether the language itself needs letters outside the GSM alphabet."""
        return bool(self.data.get("alphabet") == "own")

    def order_words(self) -> Mapping[str, tuple[str, ...]]:
        """Which texts a contact may send, by key (`ok`, `tanks`, …)."""
        return {key: tuple(words) for key, words in self.data["words"].items()}

    def until_words(self) -> Mapping[str, tuple[str, ...]]:
        """How a contact may write until when, by key (`word`, `skip`, `today`, `monday`, …)."""
        return {key: tuple(words) for key, words in self.data["until"].items()}

    def label(self, key: str, *, line: Line = "mobile") -> str:
        """A short word, for a voice as `[spoken]` has it where that differs; the key itself where the file has none."""
        spoken = self.data["spoken"].get(key) if line == "landline" else None
        return str(spoken or self.data["label"].get(key, key))

    def sentence(self, table: str, key: str | None) -> str | None:
        """A ready sentence of `[cause]`, `[advice]`, `[mobile]` …; None where there is none."""
        return (self.data.get(table, {}).get(key) or None) if key else None

    def message(self, key: str, values: Mapping[str, object], *, segments: int = 1, line: Line = "mobile") -> str:
        """The message `[said.key]` for these values, within so many segments."""
        return self._compose(self.data["said"][key], values, segments, line)

    def with_prefix(self, prefix: str, message: str, *, segments: int) -> str:
        """A message with words before it, still within its segments."""
        return cut_to_segments(f"{prefix} {message}", segments, own_alphabet=self.has_own_alphabet)

    def cut(self, words: str, *, segments: int) -> str:
        """Ready words, within so many segments."""
        return cut_to_segments(words, segments, own_alphabet=self.has_own_alphabet)

    def uncut_head(self, key: str, values: Mapping[str, object]) -> str:
        """The head of `[said.key]` with nothing cut, for what must go on word for word."""
        return self._fill(self.data["said"][key]["head"], values, keep=True) or ""

    def reply(self, key: str, values: Mapping[str, object], *, segments: int = 1, line: Line = "mobile") -> str:
        """The reply `[answer.key]` to a contact's text."""
        return self._compose(self.data["answer"][key], values, segments, line)

    def week_line(self, key: str, values: Mapping[str, object], *, line: Line = "mobile") -> str:
        """A piece of `[week]`; for a voice a whole sentence."""
        return self._fill(self.data["week" if line == "mobile" else "spoken_week"][key], values, line) or ""

    def page(self, key: str, **values: object) -> str:
        """A sentence of the page, `table.name`; only of a book with the page's words in it (`load_page_phrases`)."""
        table, _, name = key.partition(".")
        return self._fill(self.data["page"][table][name], values, keep=True) or ""

    def page_table(self, table: str) -> Mapping[str, str]:
        """A whole table of the page's sentences, as it is written."""
        found: Mapping[str, str] = self.data["page"][table]
        return found

    def format_volts(self, volts: float, *, line: Line = "mobile") -> str:
        """A voltage, `12.6 V`, with the language's own decimal sign; in full for a voice."""
        return self.label("volts", line=line).format(n=self.format_number(volts))

    def format_span(self, length: timedelta, *, line: Line = "mobile") -> str:
        """A length of time, `2 h` or `3 days`: the largest unit that says it well; in full for a voice."""
        seconds = max(0, round(length.total_seconds()))
        unit, size = next((unit, size) for unit, size, least in UNITS if seconds >= size * least)
        return self._with_count("spans" if line == "mobile" else "spoken_spans", unit, round(seconds / size))

    def month_name(self, month: int) -> str:
        """The month's full name, 1 is January."""
        return cldr.month_names(self.language, "wide")[month]

    def format_time(self, at: datetime, now: datetime, zone: tzinfo, *, line: Line = "mobile") -> str:
        """Local time: `14:05` today, `Mon 14:05` within six days, `3 Nov 14:05` beyond; for a voice as `[spoken]` says it."""
        local, today = at.astimezone(zone), now.astimezone(zone)
        clock = f"{local:%H:%M}" if line == "mobile" else self._spoken_clock(local)
        width: cldr.Width = "abbreviated" if line == "mobile" else "wide"
        days = abs((local.date() - today.date()).days)
        if days == 0:
            return clock
        if days < 7:
            return f"{cldr.day_names(self.language, width)[local.weekday()]} {clock}"
        year = "" if local.year == today.year else f" {local.year}"
        return f"{cldr.day_and_month(self.language, local, width)}{year} {clock}"

    def format_number(self, value: float) -> str:
        """A number with the language's own decimal sign."""
        return cldr.format_decimal(self.language, value)

    def _spoken_clock(self, local: datetime) -> str:
        """The time for a voice: no colon and no nought before a digit, for voices read both badly."""
        minute = local.minute
        key = "whole" if minute == 0 else "below_ten" if minute < 10 else "time"
        values = {"hour": local.hour, "hour12": local.hour % 12 or 12, "minute": minute}
        return str(self.data["spoken"][key]).format(**values, part=cldr.part_of_day(self.language, local))

    def _with_count(self, table: str, name: str, n: int) -> str:
        """A number with its word. A file need not have every form: Spanish has a `many` for millions alone, which goes as `other`."""
        forms = self.data[table][name]
        return str(forms.get(cldr.plural_form(self.language, n), forms["other"])).format(n=n)

    def preload_names(self) -> None:
        """The names of days and months and the plural forms, so that no message waits for their library."""
        cldr.day_names(self.language, "abbreviated"), cldr.month_names(self.language, "abbreviated")
        cldr.plural_form(self.language, 1)

    def _compose(self, entry: Mapping[str, Any], values: Mapping[str, object], segments: int, line: Line) -> str:
        head = entry.get("spoken", entry["head"]) if line == "landline" else entry["head"]
        filled = self._fill(head, values, line, keep=True) or ""
        pieces = [
            (piece, is_never_dropped(template))
            for template in entry.get("more", ())
            if (piece := self._fill(template.removeprefix(NEVER_DROPPED), values, line))
        ]
        may_grow = not FREE_FIELDS & {name for name, _ in FIELD.findall(head)}
        return put_together(filled, pieces, segments, line, may_grow=may_grow, own_alphabet=self.has_own_alphabet)

    def _fill(
        self, template: str, values: Mapping[str, object], line: Line = "mobile", *, keep: bool = False
    ) -> str | None:
        """The template with its fields in words; None where a value is not known, unless it is to be kept all the same."""
        if not keep and any(values.get(name) in (None, "") for name, _ in FIELD.findall(template)):
            return None
        return FIELD.sub(lambda field: self._in_words(values.get(field[1]), field[2], line), template)

    def _in_words(self, value: object, counted: str | None, line: Line) -> str:
        """One value in words."""
        if value in (None, ""):
            return ""
        if counted:
            return self._with_count("counts", counted, int(str(value)))
        match value:
            case Day():
                return f"{cldr.day_and_month(self.language, value.on, 'wide')} {value.on.year}"
            case When():
                return self.format_time(value.at, value.now, value.zone, line=line)
            case timedelta():
                return self.format_span(value, line=line)
            case Volts():
                return self.format_volts(value.value, line=line)
            case Money() if line == "landline":
                return cldr.format_amount(self.language, value.value, value.currency)
            case Label():
                return self.label(value.key, line=line)
            case _:
                return str(value)


def is_never_dropped(template: str) -> bool:
    """Whether a piece of `more` always stands in the message: it keeps people from harm, or says how to answer."""
    return template.startswith(NEVER_DROPPED) or "{take}" in template


@lru_cache(maxsize=8)
def load_phrases(language: str) -> Phrasebook:
    """The phrase file of a language; English where a language lacks a phrase."""
    english = read_phrases("en")
    if language == "en":
        return Phrasebook("en", english)
    return Phrasebook(language, _merge(english, read_phrases(language)))


@lru_cache(maxsize=2)
def load_page_phrases(language: str) -> Phrasebook:
    """The same with the words of the page, which stand in files of their own: no message needs them."""
    book, page = load_phrases(language), read_phrases("page/en")
    if language != "en":
        page = _merge(page, read_phrases(f"page/{language}"))
    return Phrasebook(language, {**book.data, "page": page, "counts": {**book.data["counts"], **page["counts"]}})


def languages() -> tuple[str, ...]:
    """Which phrase files there are."""
    folder = resources.files("gateway.phrases")
    return tuple(sorted(item.name.removesuffix(".toml") for item in folder.iterdir() if item.name.endswith(".toml")))


def read_phrases(language: str) -> Mapping[str, Any]:
    """A phrase file as it is written."""
    return tomllib.loads(resources.files("gateway.phrases").joinpath(f"{language}.toml").read_text("utf-8"))


def _merge(english: Mapping[str, Any], language: Mapping[str, Any]) -> dict[str, Any]:
    """English below, the language above it; a message (`head`) and the forms of a number (`other`) are taken as a whole."""
    merged = dict(english)
    for key, value in language.items():
        deeper = isinstance(value, dict) and isinstance(merged.get(key), dict) and not {"head", "other"} & set(value)
        merged[key] = _merge(merged[key], value) if deeper else value
    return merged
