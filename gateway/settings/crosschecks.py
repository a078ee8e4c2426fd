"""Settings that each hold by themselves → what does not hold between them: ids, claims, loops, levels.

In: Settings and a `Locate`. Out: problems, warnings among them.
"""

import re
from collections.abc import Iterable, Iterator
from datetime import timedelta
from importlib import resources
from zoneinfo import ZoneInfo, available_timezones

from gateway.errors import Problem
from gateway.facts import KINDS, URGENT_KINDS
from gateway.settings import models as m
from gateway.settings.namechecks import given_name_checks
from gateway.settings.numberchecks import number_checks
from gateway.settings.problems import Locate, near
from gateway.settings.tankchecks import tank_checks

CLOCK = re.compile(r"^([01]?\d|2[0-3]):[0-5]\d$")
QUIET = re.compile(r"^([01]?\d|2[0-3]):[0-5]\d\s*-\s*([01]?\d|2[0-3]):[0-5]\d$")
CHEMISTRIES = ("lead-acid", "agm", "gel", "lifepo4")
MONTHS = 12
PIN = re.compile(r"\s*\d{4,8}\s*")
SHORTEST_SWEEP = timedelta(seconds=1)


def crosscheck(settings: m.Settings, locate: Locate) -> Iterator[Problem]:
    """Everything that needs two tables, or a list from outside, to judge."""
    yield from _site(settings.site, locate)
    yield from _ids(settings, locate)
    yield from _controllers(settings, locate)
    yield from tank_checks(settings, locate)
    yield from _contacts(settings, locate)
    yield from number_checks(settings, locate)
    yield from given_name_checks(settings, locate)
    yield from _rest(settings, locate)


def _site(site: m.Site, locate: Locate) -> Iterator[Problem]:
    if not _is_timezone(site.timezone):
        yield locate.problem(
            ("site", "timezone"),
            found=site.timezone,
            wrong=f"{site.timezone!r} is no IANA time zone",
            right='such as "Australia/Sydney"',
            suggestion=near(site.timezone, (one for one in available_timezones() if "/" in one)),
        )
    import phonenumbers

    if site.country not in phonenumbers.SUPPORTED_REGIONS:
        yield locate.problem(
            ("site", "country"),
            found=site.country,
            wrong=f"{site.country!r} is no ISO 3166 country code",
            right='two capital letters such as "AU"',
            suggestion=site.country.upper() if site.country.upper() in phonenumbers.SUPPORTED_REGIONS else None,
        )
    known = _languages()
    if site.language not in known:
        yield locate.problem(
            ("site", "language"),
            found=site.language,
            wrong=f"there is no phrase file for {site.language!r}",
            right=f"one of {', '.join(known)}",
        )


def _is_timezone(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (ValueError, OSError, KeyError):  # the library's not-found is a KeyError
        return False
    return bool(name)


def _languages() -> list[str]:
    folder = resources.files("gateway").joinpath("phrases")
    return sorted(item.name.removesuffix(".toml") for item in folder.iterdir() if item.name.endswith(".toml"))


def _ids(settings: m.Settings, locate: Locate) -> Iterator[Problem]:
    tables: tuple[tuple[str, tuple[m.Controller | m.Tank | m.Contact, ...]], ...] = (
        ("controllers", settings.controllers),
        ("tanks", settings.tanks),
        ("contacts", settings.contacts),
    )
    for table, rows in tables:
        seen: set[str] = set()
        for index, row in enumerate(rows):
            if row.id in seen or not row.id.strip():
                yield locate.problem(
                    (table, index, "id"), found=row.id, wrong=f"the id {row.id!r} is not unique", right="another id"
                )
            seen.add(row.id)


def _controllers(settings: m.Settings, locate: Locate) -> Iterator[Problem]:
    claimed: dict[str, str] = {}
    for index, one in enumerate(settings.controllers):
        here = ("controllers", index)
        for number in one.number:
            if number in claimed:
                yield locate.problem(
                    (*here, "number"),
                    found=number,
                    wrong=f"{number} is the number of {claimed[number]!r} too",
                    right="one controller a number",
                )
            claimed[number] = one.id
        if one.ask.every == timedelta(0):
            yield locate.problem(
                (*here, "ask", "every"),
                found="0s",
                wrong="asks without end",
                right='such as "1d"; "": not by the clock',
            )
        if not one.number:
            yield locate.problem((*here, "number"), found="[]", wrong="has no number", right="the SIM's number")
        if not one.rules:
            yield locate.problem(
                (*here, "id"),
                found=one.id,
                wrong="has no rules: each of its texts is passed on word for word",
                right="`tank-gateway suggest` proposes rules",
                warning=True,
            )
        if one.silence_after is None:
            yield locate.problem(
                (*here, "silence_after"),
                found="off",
                wrong="if this box dies nobody is told",
                right='such as "26h"',
                warning=True,
            )
        if one.power is not None:
            yield from _power(one.power, (*here, "power"), locate)


def _power(power: m.Power, here: tuple[str | int, ...], locate: Locate) -> Iterator[Problem]:
    if power.battery.chemistry not in CHEMISTRIES:
        yield locate.problem(
            (*here, "battery", "chemistry"),
            found=power.battery.chemistry,
            wrong=f"unknown chemistry {power.battery.chemistry!r}",
            right=f"one of {', '.join(CHEMISTRIES)}",
            suggestion=near(power.battery.chemistry, CHEMISTRIES),
        )
    for key in ("monthly_kwh_m2_day", "monthly_celsius"):
        figures = getattr(power, key)
        if len(figures) not in (0, MONTHS):
            yield locate.problem(
                (*here, key),
                found=f"{len(figures)} figures",
                wrong=f"has {len(figures)} figures",
                right="twelve, January first, or none",
            )
    if any(not -60 <= figure <= 60 for figure in power.monthly_celsius):
        yield locate.problem(
            (*here, "monthly_celsius"),
            found=power.monthly_celsius,
            wrong="no month on earth has such a mean",
            right="degrees Celsius, between -60 and 60",
        )
    low, volts = power.battery.low_volts, power.battery.volts
    if low is not None and not 0.6 * volts <= low <= 1.5 * volts:
        yield locate.problem(
            (*here, "battery", "low_volts"),
            found=low,
            wrong=f"a battery of {volts:g} V never shows {low:g} V",
            right=f"such as {volts:g}",
        )
    if any(figure < 0 for figure in power.monthly_kwh_m2_day):
        yield locate.problem(
            (*here, "monthly_kwh_m2_day"), found="a negative figure", wrong="sun cannot be negative", right="0 or more"
        )


def _contacts(settings: m.Settings, locate: Locate) -> Iterator[Problem]:
    for index, one in enumerate(settings.contacts):
        here = ("contacts", index)
        if one.quiet and not QUIET.match(one.quiet):
            yield locate.problem(
                (*here, "quiet"), found=one.quiet, wrong=f"{one.quiet!r} are no quiet hours", right='"22:00-06:30"'
            )
        if not one.about:
            yield locate.problem(
                (*here, "about"), found="[]", wrong="hears of nothing", right='such as ["tanks"]', warning=True
            )
    if not settings.contacts:
        yield locate.problem(
            ("contacts",),
            found="none",
            wrong="there are no contacts: nobody is told anything",
            right="[[contacts]]",
            warning=True,
        )


def _rest(settings: m.Settings, locate: Locate) -> Iterator[Problem]:
    pump = settings.source.pump
    if isinstance(pump, m.RamPump) and pump.lift_m <= pump.fall_m:
        yield locate.problem(
            ("source", "pump", "lift_m"),
            found=pump.lift_m,
            wrong="a ram that lifts less than it falls is none",
            right="lift_m from the ram up to where the water enters the tank",
        )
    if not CLOCK.match(settings.digest.time):
        yield locate.problem(
            ("digest", "time"), found=settings.digest.time, wrong="is no time of day", right='such as "18:00"'
        )
    known = [one.id for one in settings.contacts]
    for one in settings.digest.contacts:
        if one not in known:
            yield locate.problem(
                ("digest", "contacts"),
                found=one,
                wrong=f"there is no contact {one!r}",
                right=f"of {', '.join(known)}",
                suggestion=near(one, known),
            )
    if PIN.fullmatch(settings.modem.pin_file):
        yield locate.problem(
            ("modem", "pin_file"),
            found="digits",
            wrong="looks like the PIN itself, which must not stand here",
            right='the name of a file that holds it, such as "sim-pin"',
            warning=True,
        )
    if settings.modem.sweep_every < SHORTEST_SWEEP:
        yield locate.problem(
            ("modem", "sweep_every"),
            found=settings.modem.sweep_every,
            wrong="asks the modem without rest",
            right='a second at least, such as "60s"',
        )
    if not settings.modem.device.strip():
        yield locate.problem(("modem", "device"), found="", wrong="is empty", right='a device, or "simulated"')
    if re.fullmatch(r"sqlite(\+pysqlite)?:///?(:memory:)?(\?.*)?|sqlite(\+pysqlite)?://[^/].*", settings.store.url):
        yield locate.problem(
            ("store", "url"),
            found=settings.store.url,
            wrong="names no file: nothing would be kept",
            right="four strokes before a whole path: sqlite:////var/lib/tank-gateway/gateway.db",
        )
    elif not re.match(r"^(sqlite|postgresql)(\+[a-z0-9_]+)?://", settings.store.url):
        yield locate.problem(
            ("store", "url"),
            found=settings.store.url,
            wrong="is no store url",
            right="sqlite:////var/lib/tank-gateway/gateway.db, or postgresql://user@server/database",
        )
    elif settings.store.backup_folder and not settings.store.url.startswith("sqlite"):
        yield locate.problem(
            ("store", "backup_folder"),
            found=settings.store.backup_folder,
            wrong="the store is a server's: the gateway makes no backup of it",
            right="the database's own tools",
            warning=True,
        )
    yield from _urgent(settings.call_out.urgent or (), locate)
    yield from _animals(settings.demand.animals, locate)


def _urgent(kinds: Iterable[str], locate: Locate) -> Iterator[Problem]:
    known = tuple(KINDS)
    for index, one in enumerate(kinds):
        if one not in known:
            yield locate.problem(
                ("call_out", "urgent", index),
                found=one,
                wrong=f"there is no kind of event {one!r}",
                right=f"such as {', '.join(sorted(URGENT_KINDS))}; or any of {', '.join(known)}",
                suggestion=near(one, known),
            )


def _animals(animals: Iterable[m.Animals], locate: Locate) -> Iterator[Problem]:
    from gateway.settings.animals import KINDS

    for index, one in enumerate(animals):
        if one.litres_per_head_day is None and one.kind not in KINDS:
            yield locate.problem(
                ("demand", "animals", index, "kind"),
                found=one.kind,
                wrong=f"no published figure is known for {one.kind!r}",
                right=f"litres_per_head_day = …, or one of {', '.join(KINDS)}",
                suggestion=near(one.kind, KINDS),
            )
