"""Settings whose tables each hold by themselves → what does not hold between two tables, or against a list from outside.

In: Settings and a `ProblemLocator`. Out: problems, warnings among them. Judged here: ids and names, contacts, the digest and the
call-out; `gateway_checks`, `controller_checks`, `tank_checks` and `number_checks` judge the other tables.
"""

import re
from collections.abc import Iterable, Iterator

from gateway.errors import Problem
from gateway.facts import KINDS, URGENT_KINDS
from gateway.facts.harmless import harmless
from gateway.settings.alarm_checks import check_alarms
from gateway.settings.controller_checks import check_controllers
from gateway.settings.controller_tables import Controller
from gateway.settings.errand_checks import check_errands
from gateway.settings.gateway_checks import check_gateway
from gateway.settings.key_lines import KeyPath
from gateway.settings.masked_text import check_left_out
from gateway.settings.models import Settings
from gateway.settings.number_checks import check_numbers
from gateway.settings.people_tables import Contact
from gateway.settings.problem_locator import ProblemLocator, nearest_word
from gateway.settings.tank_checks import check_water
from gateway.settings.watch_checks import check_watch
from gateway.settings.water_tables import Tank

CLOCK_TIME = re.compile(r"^([01]?\d|2[0-3]):[0-5]\d$")
QUIET_HOURS = re.compile(r"^([01]?\d|2[0-3]):[0-5]\d\s*-\s*([01]?\d|2[0-3]):[0-5]\d$")

NamedRows = tuple[Controller | Tank | Contact, ...]
"""Rows with an id and a name."""


def check_settings(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Everything that needs two tables, or a list from outside, to judge."""
    yield from check_gateway(settings, locator)
    for table, rows in _named_tables(settings):
        yield from _check_ids(table, rows, locator)
    yield from check_controllers(settings.controllers, locator)
    yield from check_errands(settings, locator)
    yield from check_water(settings, locator)
    yield from _check_contacts(settings.contacts, locator)
    yield from check_numbers(settings, locator)
    yield from _check_name(settings.site.name, ("site", "name"), locator)
    for index, own in enumerate(settings.inputs):
        yield from _check_name(own.name, ("inputs", index, "name"), locator)
    for table, rows in _named_tables(settings):
        yield from _check_names(table, rows, locator)
    yield from _check_digest(settings, locator)
    yield from _check_urgent_kinds(settings.call_out.urgent, locator)
    yield from check_alarms(settings, locator)
    yield from check_watch(settings, locator)
    yield from check_left_out(settings, locator)


def _named_tables(settings: Settings) -> tuple[tuple[str, NamedRows], ...]:
    return (("controllers", settings.controllers), ("tanks", settings.tanks), ("contacts", settings.contacts))


def _check_ids(table: str, rows: NamedRows, locator: ProblemLocator) -> Iterator[Problem]:
    ids: set[str] = set()
    for index, row in enumerate(rows):
        if row.id in ids or not row.id.strip():
            wrong = f"the id {row.id!r} is not unique"
            yield locator.problem((table, index, "id"), found=row.id, wrong=wrong, right="another id")
        ids.add(row.id)


def _check_contacts(contacts: tuple[Contact, ...], locator: ProblemLocator) -> Iterator[Problem]:
    for index, contact in enumerate(contacts):
        here = ("contacts", index)
        if contact.quiet and not QUIET_HOURS.match(contact.quiet):
            wrong = f"{contact.quiet!r} are no quiet hours"
            yield locator.problem((*here, "quiet"), found=contact.quiet, wrong=wrong, right='"22:00-06:30"')
        if not contact.about:
            yield locator.note((*here, "about"), found="[]", wrong="hears of nothing", right='such as ["tanks"]')
    if not contacts:
        wrong = "there are no contacts: nobody is told anything"
        yield locator.note(("contacts",), found="none", wrong=wrong, right="[[contacts]]")


def _check_names(table: str, rows: NamedRows, locator: ProblemLocator) -> Iterator[Problem]:
    """Each row's name by itself, and, as a note, the same name twice: a message says a name, never an input's number."""
    id_of_name: dict[str, str] = {}
    for index, row in enumerate(rows):
        here = (table, index, "name")
        yield from _check_name(row.name, here, locator)
        first_id = id_of_name.setdefault(row.name.strip().casefold(), row.id)
        if first_id != row.id and row.name.strip():
            wrong = f"{first_id!r} has this name too: a message would not say which"
            yield locator.note(here, found=row.name, wrong=wrong, right="a name of its own")


def _check_name(name: str, here: KeyPath, locator: ProblemLocator) -> Iterator[Problem]:
    if not name.strip():
        yield locator.problem(here, found=repr(name), wrong="is empty", right="a name as it shall stand in messages")
    elif any(ord(char) < ord(" ") or "\x7f" <= char <= "\x9f" for char in name):
        # C0 and C1 controls: a line end breaks a message, an escape sequence rewrites the terminal that shows it
        wrong = f"{harmless(name)!r} has characters in it that cannot be seen"
        yield locator.problem(here, found=repr(name), wrong=wrong, right="letters, digits and spaces, on one line")


def _check_digest(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    digest = settings.digest
    if not CLOCK_TIME.match(digest.time):
        yield locator.problem(("digest", "time"), found=digest.time, wrong="is no time of day", right='such as "18:00"')
    contact_ids = [contact.id for contact in settings.contacts]
    for contact_id in digest.contacts:
        if contact_id not in contact_ids:
            yield locator.problem(
                ("digest", "contacts"),
                found=contact_id,
                wrong=f"there is no contact {contact_id!r}",
                right=f"of {', '.join(contact_ids)}",
                suggestion=nearest_word(contact_id, contact_ids),
            )


def _check_urgent_kinds(urgent_kinds: Iterable[str], locator: ProblemLocator) -> Iterator[Problem]:
    for index, kind in enumerate(urgent_kinds):
        if kind not in KINDS:
            yield locator.problem(
                ("call_out", "urgent", index),
                found=kind,
                wrong=f"there is no kind of event {kind!r}",
                right=f"such as {', '.join(sorted(URGENT_KINDS))}; or any of {', '.join(KINDS)}",
                suggestion=nearest_word(kind, KINDS),
            )
