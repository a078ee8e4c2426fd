"""A language's phrase file → messages in its words.

`load_phrases(language)` reads `<language>.toml` beside this file. `Phrasebook.message(key, values)` puts a message together: the `head`,
then each of `more` in order while it finds room; what keeps people from harm and how to answer is never dropped (`put_together`). A piece
that needs a value nobody knows (None or missing) is left out; a head that does loses only that value. A value may be words, a `When`, a
`timedelta`, a `Day`, a `Volts`, `Money`, a `Label` or (for `{count:messages}`) a number: each is put into words for a screen or a voice as it is
filled in. `{since:since}`: a time with what it is to the sentence, preposition included.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta, tzinfo
from functools import lru_cache
from typing import Any

from gateway.phrases import cldr
from gateway.phrases.cut_to_segments import Letters, cut_to_segments, in_its_letters
from gateway.phrases.phrase_files import merge, merged_phrases, read_phrases
from gateway.phrases.put_together import put_together
from gateway.phrases.said_times import ROLES, said_time
from gateway.phrases.said_times import Line as Line
from gateway.phrases.values import Day as Day
from gateway.phrases.values import Label as Label
from gateway.phrases.values import Measured as Measured
from gateway.phrases.values import Money as Money
from gateway.phrases.values import Volts as Volts
from gateway.phrases.values import When as When

FIELD = re.compile(r"\{([a-z_]+)(?::([a-z]+))?\}")
"""`{tank}`; `{count:messages}`, a number with the word of `[counts]` that goes with it; `{since:since}`, a time in its role."""
HOLE = re.compile(r" +(?=[ ,.;:!)]|$)")
"""What a value that nobody knows leaves in a head."""
FREE_FIELDS = frozenset({"names", "reply", "raw", "why", "list", "matters", "reason", "caution", "tanks"})
"""What comes from elsewhere, of any length: a message that holds it is cut where it must be."""
NEVER_DROPPED = "!"
"""Begins a piece of `more` that keeps people from harm."""
UNITS = (("day", 86400, 2), ("hour", 3600, 2), ("minute", 60, 2), ("second", 1, 0))
"""Name, seconds, and the fewest of it that are said in it: 36 hours are hours, two days are days."""


@dataclass(frozen=True, slots=True)
class Phrasebook:
    """One language. `in_one_segment`: what does not fit one in the language's own letters leaves in Latin ones."""

    language: str
    data: Mapping[str, Any]
    in_one_segment: bool = False

    @property
    def has_own_alphabet(self) -> bool:
        """Whether the language itself needs letters outside the GSM alphabet."""
        return bool(self.data.get("alphabet") == "own")

    @property
    def letters(self) -> Letters:
        """Which letters its messages may have."""
        if not self.has_own_alphabet:
            return Letters()
        return Letters(own=True, latin=self.data.get("latin", {}) if self.in_one_segment else None)

    @property
    def unsure(self) -> Mapping[str, str]:
        """Phrases that a native reader has still to judge, by key (`said.low`), with what is in doubt."""
        return dict(self.data.get("native", {}))

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

    def message(
        self,
        key: str,
        values: Mapping[str, object],
        *,
        segments: int = 1,
        line: Line = "mobile",
        next_to_head: str = "",
    ) -> str:
        """The message `[said.key]` for these values, within so many segments; what is said right behind its head is never dropped."""
        return self._compose(self.data["said"][key], values, segments, line, next_to_head)

    def with_prefix(self, prefix: str, message: str, *, segments: int) -> str:
        """A message with words before it, still within its segments."""
        return cut_to_segments(f"{prefix} {message}", segments, self.letters)

    def cut(self, words: str, *, segments: int) -> str:
        """Ready words, within so many segments."""
        return cut_to_segments(words, segments, self.letters)

    def in_its_letters(self, words: str) -> str:
        """Words of any length, in the letters that its messages may have."""
        return in_its_letters(words, self.letters)

    def uncut_head(self, key: str, values: Mapping[str, object]) -> str:
        """The head of `[said.key]` with nothing cut, for what must go on word for word."""
        return self._fill(self.data["said"][key]["head"], values, keep=True) or ""

    def reply(self, key: str, values: Mapping[str, object], *, segments: int = 1, line: Line = "mobile") -> str:
        """The reply `[answer.key]` to a contact's text."""
        return self._compose(self.data["answer"][key], values, segments, line)

    def matter(self, name: str, kind: str, *, line: Line = "mobile") -> str:
        """Who or what, and what is the matter, as it stands in a list: `House tank LOW`."""
        template = self.data["list"]["matter" if line == "mobile" else "spoken_matter"]
        return str(template).format(name=name, what=self.label(kind, line=line))

    def week_line(self, key: str, values: Mapping[str, object], *, line: Line = "mobile") -> str:
        """A piece of `[week]`; for a voice a whole sentence."""
        return self._fill(self.data["week" if line == "mobile" else "spoken_week"][key], values, line) or ""

    def page(self, key: str, **values: object) -> str:
        """A sentence of the page, `table.name`; only of a book with the page's words in it (`with_page_words`)."""
        table, _, name = key.partition(".")
        return self._fill(self.data["page"][table][name], values, keep=True) or ""

    def page_table(self, table: str) -> Mapping[str, str]:
        """A whole table of the page's sentences, as it is written."""
        found: Mapping[str, str] = self.data["page"][table]
        return found

    def format_volts(self, volts: float, *, line: Line = "mobile") -> str:
        """A voltage, `12.6 V`, with the language's own decimal sign; in full for a voice."""
        return self._measured(Measured(volts, "V"), line)

    def format_height(self, metres: float, *, line: Line = "mobile") -> str:
        """A height of water to the centimetre, `1.13 m`; in full for a voice."""
        return self._measured(Measured(round(metres, 2), "m"), line)

    def format_span(self, length: timedelta, *, line: Line = "mobile") -> str:
        """A length of time, `2 h` or `3 days`: the largest unit that says it well; in full for a voice."""
        seconds = max(0, round(length.total_seconds()))
        unit, size = next((unit, size) for unit, size, least in UNITS if seconds >= size * least)
        return self._with_count(("spans",) if line == "mobile" else ("spoken_spans",), unit, round(seconds / size))

    def day_name(self, weekday: int) -> str:
        """The day's full name, 0 is Monday."""
        return cldr.day_names(self.language, "wide")[weekday]

    def month_name(self, month: int) -> str:
        """The month's full name, 1 is January."""
        return cldr.month_names(self.language, "wide", alone=True)[month]

    def format_time(
        self, at: datetime, now: datetime, zone: tzinfo, *, line: Line = "mobile", role: str = "bare"
    ) -> str:
        """Local time: `14:05` today, `Mon 14:05` within six days, `3 Nov 14:05` beyond; with its preposition by its role."""
        return said_time(self.language, self.data, at, now, zone, role=role, line=line)

    def format_number(self, value: float, places: int = 2) -> str:
        """A number with the language's own decimal sign, at most so many places behind it."""
        return cldr.format_decimal(self.language, value, "0." + "#" * places)

    def _with_count(self, tables: tuple[str, ...], name: str, n: float) -> str:
        """A number with its word, by the first of these tables that has it. A file need not have every form: Spanish has a `many` for millions
        alone, which goes as `other`. A template's `{f}` and `{m}` are the number as a word where that has a gender."""
        forms = next(self.data[table][name] for table in tables if name in self.data.get(table, {}))
        template = str(forms.get(cldr.plural_form(self.language, n), forms["other"]))
        shown = self.format_number(n)
        gendered = {gender: words.get(shown, shown) for gender, words in self.data.get("numbers", {}).items()}
        return template.format(n=shown, **gendered)

    def preload_names(self) -> None:
        """The names of days and months and the plural forms, so that no message waits for their library."""
        cldr.day_names(self.language, "abbreviated"), cldr.month_names(self.language, "abbreviated")
        cldr.plural_form(self.language, 1)

    def _compose(
        self, entry: Mapping[str, Any], values: Mapping[str, object], segments: int, line: Line, next_to_head: str = ""
    ) -> str:
        head, more = entry["head"], entry.get("more", ())
        if line == "landline":
            head, more = entry.get("spoken", head), entry.get("spoken_more", more)
        filled = self._fill(head, values, line, keep=True) or ""
        pieces = [(next_to_head, True)] if next_to_head else []
        pieces += [
            (piece, is_never_dropped(template))
            for template in more
            if (piece := self._fill(template.removeprefix(NEVER_DROPPED), values, line))
        ]
        # whatever calls out says how to answer, also a kind that only this household made urgent
        if values.get("take") and not any("{take}" in template for template in more):
            pieces.append((str(values["take"]), True))
        # a voice speaks its own letters, and is measured in seconds
        letters = replace(self.letters, latin=None) if line == "landline" else self.letters
        may_grow = not FREE_FIELDS & {name for name, _ in FIELD.findall(head)}
        return put_together(filled, pieces, segments, line, may_grow=may_grow, letters=letters)

    def _fill(
        self, template: str, values: Mapping[str, object], line: Line = "mobile", *, keep: bool = False
    ) -> str | None:
        """The template with its fields in words; None where a value is not known, unless it is to be kept all the same."""
        lacks = any(values.get(name) in (None, "") for name, _ in FIELD.findall(template))
        if lacks and not keep:
            return None
        filled = FIELD.sub(lambda field: self._in_words(values.get(field[1]), field[2], line), template)
        return HOLE.sub("", filled) if lacks else filled

    def _in_words(self, value: object, how: str | None, line: Line) -> str:
        """One value in words; `how`: what is counted, or a time's role."""
        match value:
            case None | "":
                return ""
            case When():
                return self.format_time(value.at, value.now, value.zone, line=line, role=how or "bare")
            case Day():
                return self._said_date(value.on)
            case timedelta():
                return self.format_span(value, line=line)
            case Volts():
                return self._measured(Measured(value.value, "V"), line)
            case Measured():
                return self._measured(value, line)
            case Money():
                return self._money(value, line)
            case Label():
                return self.label(value.key, line=line)
            case str() if how in ROLES:
                return str(self.data["when"][how][0]).format(t=value)
            case _ if how:
                tables = ("counts",) if line == "mobile" else ("spoken_counts", "counts")
                return self._with_count(tables, how, int(str(value)))
            case float():
                return self.format_number(value)
            case _:
                return str(value)

    def _said_date(self, on: date) -> str:
        month = cldr.month_names(self.language, "wide")[on.month]
        return str(self.data["list"]["date"]).format(day=on.day, month=month, year=on.year)

    def _measured(self, measured: Measured, line: Line) -> str:
        """The unit by its name for a voice, which would read its sign letter by letter."""
        table = "units" if line == "mobile" else "spoken_units"
        if measured.unit in self.data[table]:
            return self._with_count((table,), measured.unit, measured.value)
        return f"{self.format_number(measured.value)} {measured.unit}"

    def _money(self, money: Money, line: Line) -> str:
        if line == "landline":
            return cldr.format_amount(self.language, money.value, money.currency)
        return f"{cldr.format_decimal(self.language, money.value, '0.00')} {money.currency}"


def is_never_dropped(template: str) -> bool:
    """Whether a piece of `more` always stands in the message: it keeps people from harm, or says how to answer."""
    return template.startswith(NEVER_DROPPED) or "{take}" in template


@lru_cache(maxsize=8)
def load_phrases(language: str, *, in_one_segment: bool = False) -> Phrasebook:
    """The phrase file of a language; English where a language lacks a phrase."""
    return Phrasebook(language, merged_phrases(language), in_one_segment)


def with_page_words(book: Phrasebook) -> Phrasebook:
    """The same with the words of the page, which stand in files of their own: no message needs them. What the household says otherwise stays."""
    page = _page_words(book.language)
    return replace(book, data={**book.data, "page": page, "counts": {**book.data["counts"], **page["counts"]}})


@lru_cache(maxsize=2)
def _page_words(language: str) -> Mapping[str, Any]:
    english = read_phrases("page/en")
    return english if language == "en" else merge(english, read_phrases(f"page/{language}"))
