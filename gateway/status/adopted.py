"""Numbers that somebody adopted (`ADOPT 4821`) → the site in which they count, until the configuration itself has them."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from gateway.facts.states.people import AdoptedNumber
from gateway.phone_numbers import to_national
from gateway.ports import Reader
from gateway.settings.controller_tables import Controller
from gateway.settings.people_tables import Contact
from gateway.site import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class LineForFile:
    """An adopted number that the file has not yet: where it belongs, and the line to put there. `place`: which of its table, from 0."""

    table: str
    place: int
    name: str
    number: str
    adopted: AdoptedNumber
    line: str


def site_with_adopted(reader: Reader, site: Site) -> Site:
    """The site with every number that is adopted and not in the file: a box texts from it too, a person is reached by it instead."""
    adopted = reader.states(AdoptedNumber)
    return _with(site, adopted) if adopted else site


def lines_for_file(reader: Reader, site: Site) -> tuple[LineForFile, ...]:
    """What `check` shows; in the order of the file."""
    adopted, country = reader.states(AdoptedNumber), site.settings.site.country
    lines: list[LineForFile] = []
    for place, controller in enumerate(site.settings.controllers):
        for number in _numbers_of(site, adopted, controller):
            all_of_it = ", ".join(f'"{to_national(of_box, country)}"' for of_box in (*controller.number, number))
            lines.append(
                LineForFile(
                    table="controllers", place=place, name=controller.name, number=to_national(number, country),
                    adopted=adopted[number], line=f"number = [{all_of_it}]",
                )
            )  # fmt: skip
    for place, contact in enumerate(site.settings.contacts):
        now = _number_of(site, adopted, contact)
        if now != contact.number:
            written = to_national(now, country)
            lines.append(
                LineForFile(
                    table="contacts", place=place, name=contact.name, number=written, adopted=adopted[now],
                    line=f'number = "{written}"',
                )
            )  # fmt: skip
    return tuple(lines)


def _with(site: Site, adopted: Mapping[str, AdoptedNumber]) -> Site:
    controllers = tuple(
        # the newest first: a box that is texted is texted there
        controller.model_copy(
            update={"number": (*reversed(_numbers_of(site, adopted, controller)), *controller.number)}
        )
        for controller in site.settings.controllers
    )
    contacts = tuple(
        contact.model_copy(update={"number": _number_of(site, adopted, contact)}) for contact in site.settings.contacts
    )
    numbers = {number: controller for controller in controllers for number in controller.number}
    return replace(
        site,
        settings=site.settings.model_copy(update={"controllers": controllers, "contacts": contacts}),
        controllers={controller.id: controller for controller in controllers},
        controller_by_number={**{number.casefold(): box for number, box in numbers.items()}, **numbers},
        contacts={contact.id: contact for contact in contacts},
        contact_by_number={contact.number: contact for contact in contacts},
    )


def _numbers_of(site: Site, adopted: Mapping[str, AdoptedNumber], controller: Controller) -> list[str]:
    """Those of a box, the oldest first, without what the file gives to anybody."""
    mine = [
        (kept.at, number) for number, kept in adopted.items() if kept.of == "controller" and kept.whose == controller.id
    ]
    return [number for _, number in sorted(mine) if not _is_known(site, number)]


def _number_of(site: Site, adopted: Mapping[str, AdoptedNumber], contact: Contact) -> str:
    """The newest of a person; the file's own where that was changed since, or is somebody else's."""
    mine = [
        (kept.at, number)
        for number, kept in adopted.items()
        if kept.of == "contact" and kept.whose == contact.id and kept.instead_of == contact.number
    ]
    return next((number for _, number in sorted(mine, reverse=True) if not _is_known(site, number)), contact.number)


def _is_known(site: Site, number: str) -> bool:
    return site.controller_of(number) is not None or number in site.contact_by_number
