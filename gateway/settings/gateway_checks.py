"""The tables of the gateway itself (`site`, `modem`, `store`) → what does not hold against lists from outside, or would be met later.

In: Settings and a `ProblemLocator`. Out: problems, warnings among them.
"""

import re
from collections.abc import Iterator
from datetime import timedelta
from importlib import resources
from zoneinfo import ZoneInfo, available_timezones

from gateway.errors import Problem
from gateway.phone_numbers import is_country
from gateway.settings.models import Metrics, ModemTable, Settings, StoreTable
from gateway.settings.mqtt_checks import check_mqtt
from gateway.settings.pin_file import IS_THE_PIN, PIN
from gateway.settings.problem_locator import ProblemLocator, nearest_word

SIMULATED = "simulated"
SHORTEST_SWEEP = timedelta(seconds=1)
STORE_URL = re.compile(r"^(sqlite|postgresql)(\+[a-z0-9_]+)?://")
NO_FILE_URL = re.compile(r"sqlite(\+pysqlite)?:///?(:memory:)?(\?.*)?|sqlite(\+pysqlite)?://[^/].*")
"""SQLAlchemy's URLs: `sqlite://` and `sqlite:///` are a store in memory, `sqlite://name` takes the file for a host."""


def check_gateway(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """What the site, the modem and the store say of themselves."""
    yield from _check_timezone(settings.site.timezone, locator)
    yield from _check_country(settings.site.country, locator)
    yield from _check_language(settings.site.language, locator)
    yield from _check_modem(settings.modem, locator)
    yield from _check_store(settings.store, locator)
    yield from _check_metrics(settings.metrics, locator)
    yield from check_mqtt(settings.mqtt, locator)


def _check_timezone(timezone: str, locator: ProblemLocator) -> Iterator[Problem]:
    if not _is_timezone(timezone):
        yield locator.problem(
            ("site", "timezone"),
            found=timezone,
            wrong=f"{timezone!r} is no IANA time zone",
            right='such as "Australia/Sydney"',
            # abbreviations without a region are left out: EST would be suggested for AEST, fifteen hours apart
            suggestion=nearest_word(timezone, (name for name in available_timezones() if "/" in name)),
        )


def _is_timezone(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (ValueError, OSError, KeyError):  # the library's not-found is a KeyError
        return False
    return bool(name)


def _check_country(country: str, locator: ProblemLocator) -> Iterator[Problem]:
    if not is_country(country):
        yield locator.problem(
            ("site", "country"),
            found=country,
            wrong=f"{country!r} is no ISO 3166 country code",
            right='two capital letters such as "AU"',
            suggestion=country.upper() if is_country(country.upper()) else None,
        )


def _check_language(language: str, locator: ProblemLocator) -> Iterator[Problem]:
    languages = _phrase_languages()
    if language not in languages:
        wrong = f"there is no phrase file for {language!r}"
        yield locator.problem(("site", "language"), found=language, wrong=wrong, right=f"one of {', '.join(languages)}")


def _phrase_languages() -> list[str]:
    folder = resources.files("gateway").joinpath("phrases")
    return sorted(item.name.removesuffix(".toml") for item in folder.iterdir() if item.name.endswith(".toml"))


def _check_modem(modem: ModemTable, locator: ProblemLocator) -> Iterator[Problem]:
    if PIN.fullmatch(modem.pin_file.strip()):
        yield locator.note(
            ("modem", "pin_file"),
            found="digits",  # never the digits themselves: what is found is shown, logged and sent on
            wrong=IS_THE_PIN,
            right='the name of a file that holds it, such as "sim-pin"',
        )
    if modem.sweep_every < SHORTEST_SWEEP:
        yield locator.problem(
            ("modem", "sweep_every"),
            found=modem.sweep_every,
            wrong="asks the modem without rest",
            right='a second at least, such as "60s"',
        )
    yield from _near_simulated(modem.device, locator)
    if not modem.device.strip():
        yield locator.problem(("modem", "device"), found="", wrong="is empty", right='a device, or "simulated"')


def _near_simulated(device: str, locator: ProblemLocator) -> Iterator[Problem]:
    """`Simulated` or `simulate` is no device, and would be looked for as one for ever."""
    written = device.strip().casefold()
    if device != SIMULATED and (written == SIMULATED or (written.startswith("simul") and "/" not in written)):
        yield locator.problem(
            ("modem", "device"),
            found=device,
            wrong="is no device",
            right='"simulated", or a device such as "/dev/gateway-modem"',
            suggestion=SIMULATED,
        )


def _check_store(store: StoreTable, locator: ProblemLocator) -> Iterator[Problem]:
    if NO_FILE_URL.fullmatch(store.url):
        yield locator.problem(
            ("store", "url"),
            found=store.url,
            wrong="names no file: nothing would be kept",
            right="four strokes before a whole path: sqlite:////var/lib/tank-gateway/gateway.db",
        )
    elif not STORE_URL.match(store.url):
        yield locator.problem(
            ("store", "url"),
            found=store.url,
            wrong="is no store url",
            right="sqlite:////var/lib/tank-gateway/gateway.db, or postgresql://user@server/database",
        )
    elif store.backup_folder and not store.url.startswith("sqlite"):
        wrong = "the store is a server's: the gateway makes no backup of it"
        yield locator.note(
            ("store", "backup_folder"), found=store.backup_folder, wrong=wrong, right="the database's own tools"
        )


def _check_metrics(metrics: Metrics, locator: ProblemLocator) -> Iterator[Problem]:
    if metrics.file and not metrics.file.startswith("/"):
        yield locator.problem(
            ("metrics", "file"),
            found=metrics.file,
            wrong="is no whole path: it would lie wherever the gateway was started",
            right='such as "/run/tank-gateway-page/metrics.prom"',
        )
