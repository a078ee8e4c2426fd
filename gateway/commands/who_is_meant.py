"""A person's or a box's name, id or number, as somebody writes it → the number; and who nearly has a number that nobody has."""

from collections.abc import Iterator
from itertools import pairwise

from gateway.site import Site

FEWEST_DIGITS = 5
"""Of a number that somebody dialled; a name, or a number of fewer, misses nobody's."""


def number_of_name(written: str, site: Site) -> str | None:
    """The number of the controller or contact of that name or id; None where there is none."""
    wanted = written.strip().casefold()
    return next((number for names, number in _known(site) if wanted in (name.casefold() for name in names)), None)


def nearly_has(number: str, site: Site) -> tuple[str, str] | None:
    """Name and number of whom this number misses by one digit: another one, one too many or few, or two exchanged."""
    # without what stands in front of a national number: one with a digit too many is none that could be read as such
    mine = "".join(filter(str.isdigit, number)).lstrip("0")
    if len(mine) < FEWEST_DIGITS:
        return None
    for names, known in _known(site):
        if any(
            _one_digit_off(mine, known[-length:])
            for length in range(len(mine) - 1, len(mine) + 2)
            if 0 < length < len(known)
        ):
            return names[1], known
    return None


def _known(site: Site) -> Iterator[tuple[tuple[str, str], str]]:
    for controller in site.settings.controllers:
        for number in controller.number:
            yield (controller.id, controller.name), number
    for contact in site.settings.contacts:
        yield (contact.id, contact.name), contact.number


def _one_digit_off(number: str, known: str) -> bool:
    if len(number) == len(known):
        wrong = [place for place, (mine, theirs) in enumerate(zip(number, known, strict=True)) if mine != theirs]
        exchanged = len(wrong) == 2 and all(after - before == 1 for before, after in pairwise(wrong))
        return len(wrong) == 1 or (exchanged and sorted(number) == sorted(known))
    shorter, longer = sorted((number, known), key=len)
    return len(longer) - len(shorter) == 1 and any(
        longer[:at] + longer[at + 1 :] == shorter for at in range(len(longer))
    )
