"""What somebody writes at a question → the value that is meant, or `NotSo` with what would be right."""

import math
import re
from collections.abc import Sequence
from importlib.resources import files
from zoneinfo import ZoneInfo

from tzlocal import get_localzone_name

from gateway.commands.conversation import NotSo
from gateway.phone_numbers import is_country, to_e164
from gateway.phrases import languages

_THOUSANDS = re.compile(r"\d{1,3}[.,' ]\d{3}(?!\d)")
_METRE = re.compile(r"\s*(?:m|metres?|meters?)$", re.IGNORECASE)
_LITRE = re.compile(r"\s*(?:l|litres?|liters?)$", re.IGNORECASE)
_LONGEST_M = 50
_ZONES_SHOWN = 12


def read_name(said: str) -> str:
    """What something is called. Raises NotSo."""
    if not said:
        raise NotSo("a name, please")
    return " ".join(said.split())


def read_country(said: str) -> str:
    """Two letters. Raises NotSo."""
    if not is_country(said.upper()):
        raise NotSo("two letters of ISO 3166, such as AU, DE, ES, UA")
    return said.upper()


def zones_of(country: str) -> list[str]:
    """The time zones of a country, as the tz database lists them."""
    table = (files("tzdata") / "zoneinfo" / "zone.tab").read_text("utf-8")
    rows = [line.split("\t") for line in table.splitlines() if not line.startswith("#")]
    return [row[2] for row in rows if row[0] == country]


def likely_timezone(country: str) -> str:
    """The country's only one, or this machine's if it is one of the country's; a board that was never told has UTC."""
    zones = zones_of(country)
    try:
        own = str(get_localzone_name() or "")
    except (ValueError, OSError):
        own = ""
    return zones[0] if len(zones) == 1 else own if own in zones else ""


def read_timezone(said: str, zones: Sequence[str] = ()) -> str:
    """A zone's name, or its city's where that is one of these zones. Raises NotSo."""
    city = said.casefold().replace(" ", "_")
    meant = [zone for zone in zones if zone.casefold().rpartition("/")[2] == city]
    try:
        zone = meant[0] if len(meant) == 1 else said
        ZoneInfo(zone)
    except (ValueError, OSError, KeyError):
        one_of = f"one of {', '.join(zones[:_ZONES_SHOWN])}" if zones else 'a name such as "Australia/Sydney"'
        raise NotSo(f"{one_of}{' …' if len(zones) > _ZONES_SHOWN else ''}") from None
    return zone


def read_language(said: str) -> str:
    """One of ours. Raises NotSo."""
    if said not in languages():
        raise NotSo(f"one of {', '.join(languages())}")
    return said


def read_number(said: str, country: str) -> str:
    """In E.164. Raises NotSo."""
    number = to_e164(said, country)
    if number is None:
        raise NotSo(f"that is no phone number of {country}; as you dial it at home, or with +")
    return number


def read_count(said: str) -> int:
    """Up to 99. Raises NotSo."""
    if not said.isdecimal() or int(said) > 99:
        raise NotSo("a whole number")
    return int(said)


def read_count_of_people(said: str) -> int:
    """One at the least. Raises NotSo."""
    if read_count(said) < 1:
        raise NotSo("somebody must be told: at least one")
    return read_count(said)


def read_litres(said: str) -> float:
    """Litres. Raises NotSo."""
    if _THOUSANDS.match(said):
        raise NotSo("that may be thousands or a fraction: without a mark between, such as 5000")
    return _above_nought(said, _LITRE)


def read_metres(said: str) -> float:
    """A length of a tank, with a point or a comma. Raises NotSo."""
    metres = _above_nought(said, _METRE)
    if metres > _LONGEST_M:
        raise NotSo(f"{metres:g} m is no tank's: in metres, such as 1.8")
    return metres


def _above_nought(said: str, unit: "re.Pattern[str]") -> float:
    try:
        value = float(unit.sub("", said.strip()).replace(",", "."))
    except ValueError:
        raise NotSo("a number, such as 1.8") from None
    if not 0 < value < 1e6:
        raise NotSo("a number above nought")
    return value


def read_across(said: str) -> float:
    """Around is what a tape tells of a tank that stands. Raises NotSo."""
    if said.casefold().startswith("around"):
        return round(read_metres(said[len("around") :]) / math.pi, 3)
    return read_metres(said)


def read_level(said: str, height_m: float, above_m: float = 0) -> float:
    """Water in a tank so high, above that level. Raises NotSo."""
    level = read_metres(said)
    if level > height_m:
        raise NotSo(f"the tank is only {height_m:g} m high")
    if level <= above_m:
        raise NotSo(f"it stands above the LOW float, which is at {above_m:g} m")
    return level


def read_letter(said: str, letters: str) -> str:
    """The first letter, if it is one of these. Raises NotSo."""
    if said.casefold()[:1] not in letters or not said:
        raise NotSo(f"one of {', '.join(letters)}")
    return said.casefold()[0]


def read_one_of(said: str, names: Sequence[str]) -> str:
    """One of these names, or empty. Raises NotSo."""
    wanted = next((name for name in names if name.casefold() == said.casefold()), None)
    if said and wanted is None:
        raise NotSo(f"one of {', '.join(names)}, or Enter")
    return wanted or ""
