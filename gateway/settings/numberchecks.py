"""Numbers that each can be a phone number → what is odd about them: reserved, premium, the wrong line, taken twice.

In: Settings and a `Locate`. Out: warnings only; nothing here keeps the gateway from starting.
"""

from collections.abc import Iterator

from gateway.errors import Problem
from gateway.phone_numbers import kind_of, national, reserved_for_fiction
from gateway.settings import models as m
from gateway.settings.problems import Locate

_SHOWN = 3


def number_checks(settings: m.Settings, locate: Locate) -> Iterator[Problem]:
    """One line for all numbers reserved for fiction, one for each other oddity."""
    yield from _fiction(settings, locate)
    yield from _contacts(settings, locate)
    for index, box in enumerate(settings.controllers):
        for number in box.number:
            yield from _odd(number, ("controllers", index, "number"), settings.site.country, locate)


def _fiction(settings: m.Settings, locate: Locate) -> Iterator[Problem]:
    tables: tuple[tuple[str, tuple[tuple[str, ...], ...]], ...] = (
        ("controllers", tuple(one.number for one in settings.controllers)),
        ("contacts", tuple((one.number,) for one in settings.contacts)),
    )
    found = [
        (table, index, number)
        for table, rows in tables
        for index, numbers in enumerate(rows)
        for number in numbers
        if reserved_for_fiction(number)
    ]
    if found:
        named = [national(number, settings.site.country) for _, _, number in found]
        shown = ", ".join(named[:_SHOWN]) + (" …" if len(named) > _SHOWN else "")
        yield locate.problem(
            (found[0][0], found[0][1], "number"),
            found=shown,
            wrong=f"numbers kept for fiction, {len(found)} in all ({shown}): good for a trial, but nobody answers there",
            right="the real numbers before it serves",
            warning=True,
        )


def _contacts(settings: m.Settings, locate: Locate) -> Iterator[Problem]:
    seen: dict[str, str] = {}
    boxes = {number: one.name for one in settings.controllers for number in one.number}
    for index, one in enumerate(settings.contacts):
        here = ("contacts", index, "number")
        if one.number in seen:
            yield _warning(
                locate, here, one.number, f"{seen[one.number]!r} has this number too", "one contact a number"
            )
        seen.setdefault(one.number, one.id)
        if one.number in boxes:
            wrong = f"the controller {boxes[one.number]!r} has this number too: its texts would be taken for a person's"
            yield _warning(locate, here, one.number, wrong, "a person's own number")
        yield from _odd(one.number, here, settings.site.country, locate)
        yield from _line(one, index, settings.site.country, locate)


def _line(one: m.Contact, index: int, country: str, locate: Locate) -> Iterator[Problem]:
    kind = kind_of(one.number)
    here = ("contacts", index, "line")
    said = national(one.number, country)
    if one.line == "mobile" and kind == "landline":
        wrong = f"{said} is a landline: a text is read out there, if it arrives at all"
        yield _warning(locate, here, one.line, wrong, 'line = "landline", or a mobile number')
    if one.line == "landline" and kind == "mobile":
        yield _warning(
            locate, here, one.line, f"{said} is a mobile number", 'line = "mobile", or the landline\'s number'
        )


def _odd(number: str, here: tuple[str | int, ...], country: str, locate: Locate) -> Iterator[Problem]:
    if not number.startswith("+"):
        yield _warning(
            locate, here, number, "is a short code or a name, not a phone number", "right only if texts come from it"
        )
        return
    if reserved_for_fiction(number):
        return
    kind, said = kind_of(number), national(number, country)
    if kind == "none":
        yield _warning(locate, here, number, f"{said} is a number that nobody has been given", "look for a wrong digit")
    if kind == "premium":
        yield _warning(locate, here, number, f"{said} costs extra, text by text", "an ordinary number")
    if kind == "other":
        yield _warning(
            locate, here, number, f"{said} is no ordinary mobile or landline", "look whether it can get texts"
        )


def _warning(locate: Locate, here: tuple[str | int, ...], found: str, wrong: str, right: str) -> Problem:
    return locate.problem(here, found=found, wrong=wrong, right=right, warning=True)
