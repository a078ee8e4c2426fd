"""Names → what is wrong with them: none at all, or characters that no message can carry; and, as a note, the same name twice.

Each message says a name, never an input's number, so that there must be one.
"""

from collections.abc import Iterator

from gateway.errors import Problem
from gateway.facts.harmless import harmless
from gateway.settings import models as m
from gateway.settings.problems import Locate, Path


def given_name_checks(settings: m.Settings, locate: Locate) -> Iterator[Problem]:
    """The site's, then those of controllers, tanks and contacts."""
    yield from _name(settings.site.name, ("site", "name"), locate)
    tables: tuple[tuple[str, tuple[m.Controller | m.Tank | m.Contact, ...]], ...] = (
        ("controllers", settings.controllers),
        ("tanks", settings.tanks),
        ("contacts", settings.contacts),
    )
    for table, rows in tables:
        seen: dict[str, str] = {}
        for index, one in enumerate(rows):
            here = (table, index, "name")
            yield from _name(one.name, here, locate)
            same = seen.setdefault(one.name.strip().casefold(), one.id)
            if same != one.id and one.name.strip():
                wrong = f"{same!r} has this name too: a message would not say which"
                yield locate.problem(here, found=one.name, wrong=wrong, right="a name of its own", warning=True)


def _name(name: str, here: Path, locate: Locate) -> Iterator[Problem]:
    if not name.strip():
        yield locate.problem(here, found=repr(name), wrong="is empty", right="a name as it shall stand in messages")
    elif any(ord(char) < ord(" ") or "\x7f" <= char <= "\x9f" for char in name):
        wrong = f"{harmless(name)!r} has characters in it that cannot be seen"
        yield locate.problem(here, found=repr(name), wrong=wrong, right="letters, digits and spaces, on one line")
