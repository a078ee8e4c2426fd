"""A command's arguments → the site and its store, a tank, a moment; and a word to the daemon that runs on that store."""

import argparse
import os
import re
import signal
from collections.abc import Iterable
from datetime import datetime, time, timedelta

from gateway.clock import SystemClock
from gateway.commands.configuration_checks import EXTRA_CHECKS
from gateway.errors import GatewayError, UsageWrong
from gateway.ports import Store
from gateway.settings.durations import parse_duration
from gateway.settings.load import load
from gateway.settings.models import Settings
from gateway.settings.people_tables import Contact
from gateway.settings.water_tables import Tank
from gateway.site import Site, compile_site

YEARS = range(1900, 9000)
"""Ten years before and after any of them can be reckoned with, in every zone."""
RIGHT_MOMENT = "right would be 2026-03-01T04:11:00+11:00, 2026-03-01, yesterday, 07:00, or a duration such as 7d"
CLOCK = re.compile(r"([01]?\d|2[0-3]):[0-5]\d")
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def load_settings(arguments: argparse.Namespace) -> Settings:
    """The checked configuration; warnings are for `check` alone."""
    return load(arguments.config, EXTRA_CHECKS).settings


def load_site(arguments: argparse.Namespace) -> Site:
    """The site of the configuration, with its rules compiled."""
    return compile_site(load_settings(arguments))


def open_site_store(settings: Settings, *, create: bool = False, check: bool = True) -> Store:
    """The store of this configuration; `create`: made where there is none, which looking never does; `check`: read through first, as
    whoever writes into it does."""
    # Imported here: SQLAlchemy behind it takes 0.36 s and 21 MB, and `water` and `simulate` look at no store.
    from gateway.storage import open_store

    return open_store(settings.store.url, settings.site.name, create=create, check=check)


def wake_daemon(settings: Settings) -> bool:
    """Something due by time was changed: the daemon on this store looks again at once. False where none runs or may be signalled;
    else it looks within a minute."""
    from gateway.storage import holder  # as above

    pid = holder(settings.store.url, settings.site.name)
    if pid is None:
        return False
    try:
        os.kill(pid, signal.SIGUSR1)
    except (ProcessLookupError, PermissionError):
        return False
    return True


def tank_called(site: Site, written: str) -> Tank:
    """By its id or its name, without case. Raises GatewayError."""
    for tank in site.tanks.values():
        if written.casefold() in (tank.id.casefold(), tank.name.casefold()):
            return tank
    raise no_such_tank(written, site.tanks.values())


def contact_called(site: Site, written: str) -> Contact:
    """By its id, or by a name that is one contact's alone. Raises GatewayError."""
    contact = site.contacts.get(written) or site.contact_called(written)
    if contact is None:
        known = ", ".join(f"{contact.id} ({contact.name})" for contact in site.contacts.values())
        raise GatewayError(f"there is not one contact called {written!r}; there are: {known or 'none'}")
    return contact


def no_such_tank(written: str, tanks: Iterable[Tank]) -> GatewayError:
    """There is none that is called so; which there are."""
    known = ", ".join(f"{tank.id} ({tank.name})" for tank in tanks)
    return GatewayError(f"there is no tank {written!r}; there are: {known or 'none'}")


def parse_moment(written: str, site: Site) -> datetime:
    """A time a person wrote, which is past: ISO 8601 (without an offset: the site's own time), a day such as yesterday or monday, the
    last time that it was 07:00, or a duration back from now."""
    past = _past_day_or_time(written, SystemClock().now().astimezone(site.zone))
    if past is not None:
        return past
    try:
        at = datetime.fromisoformat(written)
    except ValueError:
        return _back_from_now(written)
    if at.year not in YEARS:
        raise UsageWrong(f"{written!r} is too long ago or too far ahead to be reckoned with; {RIGHT_MOMENT}")
    return at if at.tzinfo else at.replace(tzinfo=site.zone)


def _past_day_or_time(written: str, now: datetime) -> datetime | None:
    """`yesterday`, `monday 07:00`, `07:00`; None: it is written otherwise. A time without a day that is still to come was yesterday's,
    and a weekday is the last one, never today."""
    day, _, clock = written.strip().casefold().rpartition(" ")
    if not day and not clock:
        return None
    if not CLOCK.fullmatch(clock):
        day, clock = f"{day} {clock}".strip(), ""
    days_ago = _days_ago(day, now)
    if days_ago is None:
        return None
    date = now.date() - timedelta(days=days_ago)
    at = datetime.combine(date, time.fromisoformat(clock.zfill(5)) if clock else time(), now.tzinfo)
    return at - timedelta(days=1) if not day and at > now else at


def _days_ago(day: str, now: datetime) -> int | None:
    if day in ("", "today", "yesterday"):
        return 1 if day == "yesterday" else 0
    if day not in WEEKDAYS:
        return None
    return (now.weekday() - WEEKDAYS.index(day)) % 7 or 7


def _back_from_now(written: str) -> datetime:
    try:
        return SystemClock().now() - parse_duration(written)
    except ValueError:
        raise UsageWrong(f"{written!r} is no time; {RIGHT_MOMENT}") from None
