"""Arguments → settings, house and store, for the commands that need them."""

import argparse
from collections.abc import Iterable
from datetime import datetime

from gateway.clock import SystemClock
from gateway.errors import GatewayError, UsageWrong
from gateway.ports import Store
from gateway.settings.durations import parse_duration
from gateway.settings.load import load
from gateway.settings.models import Settings, Tank
from gateway.site import Site, compile_site

YEARS = range(1900, 9000)
"""Ten years before and after any of them can be reckoned with, in every zone."""
RIGHT = "right would be 2026-03-01T04:11:00+11:00, 2026-03-01, or a duration such as 7d"


def settings_of(arguments: argparse.Namespace) -> Settings:
    """The checked configuration; warnings are for `check` alone."""
    from gateway.commands.check import EXTRA_CHECKS

    return load(arguments.config, EXTRA_CHECKS).settings


def house_of(arguments: argparse.Namespace) -> Site:
    """The furnished house."""
    return compile_site(settings_of(arguments))


def store_of(settings: Settings, *, create: bool = True, check: bool = True) -> Store:
    """The store of this configuration; `check`: read through first, as whoever writes into it does."""
    from gateway.storage import open_store

    return open_store(settings.store.url, settings.site.name, create=create, check=check)


def no_tank(said: str, tanks: Iterable[Tank]) -> GatewayError:
    """There is none that is called so; which there are."""
    known = ", ".join(f"{one.id} ({one.name})" for one in tanks)
    return GatewayError(f"there is no tank {said!r}; there are: {known or 'none'}")


def moment_said(said: str, site: Site) -> datetime:
    """A time a person wrote: ISO 8601 (without an offset: the site's own time), or a duration back from now."""
    try:
        at = datetime.fromisoformat(said)
    except ValueError:
        return _back(said)
    if at.year not in YEARS:
        raise UsageWrong(f"{said!r} is too long ago or too far ahead to be reckoned with; {RIGHT}")
    return at if at.tzinfo else at.replace(tzinfo=site.zone)


def _back(said: str) -> datetime:
    try:
        return SystemClock().now() - parse_duration(said)
    except ValueError:
        raise UsageWrong(f"{said!r} is no time; {RIGHT}") from None
