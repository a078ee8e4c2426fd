"""A language → its names of days and months, its plural forms, its decimal sign and its parts of the day, by the CLDR (babel).

Babel is imported when something is first said, not before: a command that says nothing pays nothing.
"""

from collections.abc import Mapping
from datetime import datetime
from functools import lru_cache
from typing import Literal

Width = Literal["abbreviated", "wide"]


@lru_cache(maxsize=8)
def day_names(language: str, width: Width) -> Mapping[int, str]:
    """0 is Monday."""
    from babel.dates import get_day_names

    return dict(get_day_names(width, locale=language))


@lru_cache(maxsize=8)
def month_names(language: str, width: Width) -> Mapping[int, str]:
    """1 is January; in the form that stands beside a day."""
    from babel.dates import get_month_names

    return dict(get_month_names(width, locale=language))


def day_and_month(language: str, at: datetime, width: Width) -> str:
    """`3 Nov`: the day first, as most of the world writes it, with the language's own mark behind it."""
    from babel import Locale

    dotted = "d." in str(Locale.parse(language).date_formats["long"].pattern)
    return f"{at.day}{'.' if dotted else ''} {month_names(language, width)[at.month]}"


@lru_cache(maxsize=256)
def plural(language: str, n: int) -> str:
    """`one`, `few`, `many`, `other`: which form goes with that number."""
    from babel import Locale

    return str(Locale.parse(language).plural_form(n))


def decimal(language: str, value: float) -> str:
    """`12.4` or `12,4`; at most two places, no grouping."""
    from babel.numbers import format_decimal

    return str(format_decimal(value, format="0.##", locale=language))


def amount(language: str, value: float, currency: str) -> str:
    """`0.84 euros`: the currency by its name; by its code where it has none."""
    from babel.numbers import format_currency

    return str(format_currency(value, currency, locale=language, format_type="name"))


def part_of_day(language: str, at: datetime) -> str:
    """`in the morning`; empty where babel has none for the language."""
    from babel.dates import get_period_id, get_period_names

    names = get_period_names("wide", context="format", locale=language)
    return str(names.get(get_period_id(at, locale=language), ""))
