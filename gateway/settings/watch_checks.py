"""Who has the watch by the file (`watch`) → contacts that do not exist or cannot answer, times that are none.

In: Settings and a `ProblemLocator`. Out: problems, warnings among them.
"""

import re
from collections.abc import Iterator

from gateway.errors import Problem
from gateway.settings.models import Settings
from gateway.settings.people_tables import Contact, Watch
from gateway.settings.problem_locator import ProblemLocator, nearest_word

TIME_OF_DAY = re.compile(r"([01]?\d|2[0-3]):[0-5]\d")
MIDNIGHT = "24:00"


def check_watch(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """Every row by itself."""
    contacts = {contact.id: contact for contact in settings.contacts}
    for index, row in enumerate(settings.watch):
        yield from _check_contact(row, contacts, index, locator)
        yield from _check_times(row, index, locator)


def can_have_watch(contact: Contact) -> bool:
    """Whether the contact can be called first: whoever cannot answer OK would only hold the others up."""
    return contact.line == "mobile" and contact.may_ask


def _check_contact(row: Watch, contacts: dict[str, Contact], index: int, locator: ProblemLocator) -> Iterator[Problem]:
    contact = contacts.get(row.contact)
    if contact is None:
        yield locator.problem(
            ("watch", index, "contact"),
            found=row.contact,
            wrong=f"there is no contact {row.contact!r}",
            right=f"of {', '.join(contacts)}",
            suggestion=nearest_word(row.contact, contacts),
        )
    elif not can_have_watch(contact):
        yield locator.problem(
            ("watch", index, "contact"),
            found=row.contact,
            wrong=f"{contact.name} cannot answer OK by text, so that the others would only be told later",
            right="a contact with a mobile who may ask",
        )


def _check_times(row: Watch, index: int, locator: ProblemLocator) -> Iterator[Problem]:
    for key, written in (("from", row.begins), ("until", row.until)):
        if not TIME_OF_DAY.fullmatch(written) and (key, written) != ("until", MIDNIGHT):
            right = 'such as "18:00"; "24:00" is the end of the day'
            yield locator.problem(("watch", index, key), found=written, wrong="is no time of day", right=right)
            return
    if row.begins == row.until:
        right = 'from = "00:00" and until = "24:00" for the whole day'
        yield locator.problem(("watch", index, "until"), found=row.until, wrong="ends as it begins", right=right)
