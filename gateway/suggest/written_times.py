"""Dates and times as people, phones and spreadsheets write them → moments. Nothing is guessed: what may be read in two ways is asked about."""

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime, time, tzinfo
from typing import Literal

import regex

Order = Literal["day-first", "month-first"]
_MONTHS = (
    ("jan", "ene", "січ"), ("feb", "fév", "лют"), ("mar", "mär", "mrz", "бер"), ("apr", "abr", "avr", "кві"), ("may", "mai", "тра"),
    ("jun", "juin", "чер"), ("jul", "juil", "лип"), ("aug", "ago", "aoû", "сер"), ("sep", "set", "вер"), ("oct", "okt", "out", "жов"),
    ("nov", "лис"), ("dec", "dez", "dic", "déc", "гру"),
)  # fmt: skip
"""How the names of the months begin, in the languages of our phrases and their neighbours."""
_NUMBERS = regex.compile(r"(\d{1,4})([-/.])(\d{1,2})\2(\d{4}|\d{2})")
_NAMED = regex.compile(r"(\d{1,2})\.?\s*(?:de\s+)?(\p{L}+)\.?,?\s*(?:de\s+)?(\d{4}|\d{2})")
_NAME_FIRST = regex.compile(r"(\p{L}+)\.?\s+(\d{1,2}),?\s+(\d{4})")
_CLOCK = regex.compile(
    r"(\d{1,2})[:.h](\d{2})(?:[:.](\d{2}))?(?:[.,]\d+)?\s*(?:([ap])\.?\s*m\b\.?)?\s*(Z|[+-]\d{2}:?\d{2})?",
    regex.IGNORECASE,
)
_CENTURY = 2000


class NoTime(ValueError):
    """It is none, or one without a year; says what is wrong with it."""


@dataclass(frozen=True, slots=True)
class Ambiguous(Exception):
    """A date that may be read in two ways, and none of the file tells in which."""

    written: str

    def __str__(self) -> str:
        either = f"{self.written!r} may be day-month or month-day, and no date here tells which"
        return f"{either}; right would be --dates day-first or --dates month-first"


def order_of(dates: Iterable[str], said: Order | None) -> Order:
    """In which order these dates stand: as was said, or as one of them shows. Dates with dots are day-first (common practice: DIN 5008
    and its like). Raises Ambiguous where none shows it and it matters."""
    if said is not None:
        return said
    doubtful = ""
    for written in dates:
        found = _NUMBERS.search(written)
        if found is None or len(found[1]) > 2:
            continue
        first, second = int(found[1]), int(found[3])
        if found[2] == "." or first > 12:
            return "day-first"
        if second > 12:
            return "month-first"
        if first != second:
            doubtful = doubtful or written
    if doubtful:
        raise Ambiguous(doubtful)
    return "day-first"


def moment_of(day: str, clock: str, order: Order, zone: tzinfo) -> datetime:
    """A date and a time of day → the moment; without an offset in the place's own time. Raises NoTime.

    They may stand in one cell (then both are the same words), also as ISO 8601 has them.
    """
    if day == clock:
        with suppress(ValueError):
            at = datetime.fromisoformat(day)
            return at if at.tzinfo else at.replace(tzinfo=zone)
    on = _day_of(day, order)
    of_day = _NUMBERS.sub("", clock).strip()
    if not of_day and clock == day:
        return datetime.combine(on, time(), zone)
    found = _CLOCK.search(of_day)
    if found is None:
        raise NoTime(f"{clock!r} is no time of day")
    hour = int(found[1]) % 12 + 12 * (found[4].lower() == "p") if found[4] else int(found[1])
    try:
        at = datetime.combine(on, time(hour % 24, int(found[2]), int(found[3] or 0)), zone)
    except ValueError:
        raise NoTime(f"{clock!r} is no time of day") from None
    offset = found[5]
    return at if offset is None else datetime.fromisoformat(f"{at:%Y-%m-%dT%H:%M:%S}{offset}")


def _day_of(written: str, order: Order) -> date:
    try:
        return _read_day(written, order)
    except ValueError as error:
        raise error if isinstance(error, NoTime) else NoTime(f"{written!r} is no day") from None


def _read_day(written: str, order: Order) -> date:
    if found := _NUMBERS.search(written):
        first, second, third = int(found[1]), int(found[3]), int(found[4])
        if len(found[1]) > 2:
            return date(first, second, third)
        day, month = (first, second) if order == "day-first" else (second, first)
        return date(_year(third), month, day)
    if found := _NAMED.search(written):
        return date(_year(int(found[3])), _month(found[2]), int(found[1]))
    if found := _NAME_FIRST.search(written):
        return date(int(found[3]), _month(found[1]), int(found[2]))
    raise NoTime(f"{written!r} is no date with a year")


def _year(number: int) -> int:
    return number if number > 99 else _CENTURY + number


def _month(name: str) -> int:
    for month, beginnings in enumerate(_MONTHS, start=1):
        if name.casefold().startswith(beginnings):
            return month
    raise NoTime(f"{name!r} is no month that is known here")
