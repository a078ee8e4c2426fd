"""Phone numbers of the file → E.164, and what is odd about those that each can be one: reserved, premium, the wrong line, taken twice.

Normalising needs no models (it goes before them); what is odd is a warning only: nothing of that keeps the gateway from starting.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from gateway.errors import Problem
from gateway.phone_numbers import is_emergency, is_reserved_for_fiction, line_kind, to_e164, to_national
from gateway.settings.key_lines import KeyPath
from gateway.settings.models import Settings
from gateway.settings.people_tables import Contact
from gateway.settings.problem_locator import ProblemLocator

NUMBERS_SHOWN = 3
LONGEST_SHORT_CODE = 6
"""Digits; what has more is taken for a phone number even among letters."""


def normalise_numbers(data: Mapping[str, Any], locator: ProblemLocator) -> tuple[dict[str, Any], list[Problem]]:
    """The file's data with its phone numbers as E.164 (a lone number of a controller as a tuple), and those that can be none."""
    site = data.get("site")
    country = str(site.get("country", "")) if isinstance(site, dict) else ""
    normalised, problems = dict(data), []
    for table in ("controllers", "contacts"):
        rows = data.get(table)
        if not isinstance(rows, list):
            continue  # the models say so
        normalised[table] = list(rows)
        for index, row in enumerate(rows):
            if isinstance(row, dict) and "number" in row:
                number, wrong = _normalise(row["number"], country, several=table == "controllers")
                problems += [_refused_number(text, country, (table, index, "number"), locator) for text in wrong]
                normalised[table][index] = {**row, "number": number}
    modem = data.get("modem")
    if isinstance(modem, dict) and modem.get("number"):
        number, wrong = _normalise(modem["number"], country, several=False)
        problems += [_refused_number(text, country, ("modem", "number"), locator) for text in wrong]
        normalised["modem"] = {**modem, "number": number}
    return normalised, problems


def _normalise(value: Any, country: str, *, several: bool) -> tuple[Any, list[str]]:
    """(the number or numbers as E.164 where they can be, which of them can be none). What is no string is left to the models."""
    texts = value if several and isinstance(value, list) else [value]
    if not all(isinstance(text, str) for text in texts):
        return value, []
    numbers = [to_e164(text, country) for text in texts]
    # a controller may text from a short code or under a name; a contact is texted, which takes a number
    refused = [
        text
        for text, number in zip(texts, numbers, strict=True)
        if number is None and (not several or not text.strip() or _looks_like_a_number(text))
    ]
    kept = tuple(number or text.strip() for text, number in zip(texts, numbers, strict=True))
    return (kept if several else kept[0]), refused


def _looks_like_a_number(text: str) -> bool:
    digits = sum(char.isdigit() for char in text)
    return (
        digits > LONGEST_SHORT_CODE
        or (text.strip().startswith("+") and digits > 0)
        or (digits > 0 and set(text) <= set("0123456789 +-()/."))
    )


def _refused_number(text: str, country: str, here: KeyPath, locator: ProblemLocator) -> Problem:
    wrong = f"{text!r} cannot be a phone number of {country or 'this country'}"
    if is_emergency(text.strip(), country):
        wrong = f"{text!r} calls an emergency service: no machine may text it"
    right = "write it nationally, or as + country code and number"
    return locator.problem(here, found=repr(text), wrong=wrong, right=right)


def check_numbers(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """One line for all numbers reserved for fiction, one for each other oddity."""
    yield from _check_fiction(settings, locator)
    yield from _check_contacts(settings, locator)
    for index, controller in enumerate(settings.controllers):
        for number in controller.number:
            yield from _check_kind(number, ("controllers", index, "number"), settings.site.country, locator)


def _check_fiction(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    places = [
        *(("controllers", at, number) for at, box in enumerate(settings.controllers) for number in box.number),
        *(("contacts", at, contact.number) for at, contact in enumerate(settings.contacts)),
    ]
    fictitious = [place for place in places if is_reserved_for_fiction(place[2])]
    if fictitious:
        numbers = [to_national(number, settings.site.country) for _, _, number in fictitious]
        shown = ", ".join(numbers[:NUMBERS_SHOWN]) + (" …" if len(numbers) > NUMBERS_SHOWN else "")
        yield locator.note(
            (fictitious[0][0], fictitious[0][1], "number"),
            found=shown,
            wrong=f"numbers kept for fiction, {len(numbers)} in all ({shown}): good for a trial, but nobody answers there",
            right="the real numbers before it serves",
        )


def _check_contacts(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    id_of_number: dict[str, str] = {}
    controller_of_number = {number: box.name for box in settings.controllers for number in box.number}
    for index, contact in enumerate(settings.contacts):
        number, here = contact.number, ("contacts", index, "number")
        if number in id_of_number:
            wrong = f"{id_of_number[number]!r} has this number too"
            yield locator.note(here, found=number, wrong=wrong, right="one contact a number")
        id_of_number.setdefault(number, contact.id)
        if number in controller_of_number:
            whose = f"the controller {controller_of_number[number]!r} has this number too"
            wrong = f"{whose}: its texts would be taken for a person's"
            yield locator.note(here, found=number, wrong=wrong, right="a person's own number")
        yield from _check_kind(number, here, settings.site.country, locator)
        yield from _check_line(contact, ("contacts", index, "line"), settings.site.country, locator)


def _check_line(contact: Contact, here: KeyPath, country: str, locator: ProblemLocator) -> Iterator[Problem]:
    kind, number = line_kind(contact.number), to_national(contact.number, country)
    if contact.line == "mobile" and kind == "landline":
        wrong = f"{number} is a landline: a text is read out there, if it arrives at all"
        yield locator.note(here, found="mobile", wrong=wrong, right='line = "landline", or a mobile number')
    if contact.line == "landline" and kind == "mobile":
        right = 'line = "mobile", or the landline\'s number'
        yield locator.note(here, found="landline", wrong=f"{number} is a mobile number", right=right)


_ODD_KINDS = {
    "none": ("is a number that nobody has been given", "look for a wrong digit"),
    "premium": ("costs extra, text by text", "an ordinary number"),
    "other": ("is no ordinary mobile or landline", "look whether it can get texts"),
}


def _check_kind(number: str, here: KeyPath, country: str, locator: ProblemLocator) -> Iterator[Problem]:
    if not number.startswith("+"):
        wrong = "is a short code or a name, not a phone number"
        yield locator.note(here, found=number, wrong=wrong, right="right only if texts come from it")
        return
    kind = line_kind(number)
    if kind in _ODD_KINDS and not is_reserved_for_fiction(number):
        wrong, right = _ODD_KINDS[kind]
        yield locator.note(here, found=number, wrong=f"{to_national(number, country)} {wrong}", right=right)
