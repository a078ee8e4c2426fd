"""The house book: one page to print for a buyer, a sitter, whoever takes over. All that must be known, made of the configuration and
the record, dated; secrets are left out."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

from gateway.facts import Event
from gateway.page.local_calendar import local_day
from gateway.page.whole_page import BOOK_MARK, jinja_environment
from gateway.phone_numbers import to_national
from gateway.phrases import cldr
from gateway.ports import Reader
from gateway.settings.people_tables import Contact
from gateway.settings.settings_changes import readable_values
from gateway.settings.water_tables import RamPump, Tank
from gateway.site import Site
from gateway.status.adopted import site_with_adopted
from gateway.status.cards import cards_until
from gateway.status.episodes import SHOWN_KINDS, episodes_of
from gateway.status.watch import on_watch
from gateway.water.volumes import capacity_l

if TYPE_CHECKING:
    from jinja2 import Template

YEAR = timedelta(days=365)
RAM_SIGNS = (
    "It beats 40 to 60 times a minute, as a rule.",
    "If it has stopped: too little water comes down its drive pipe, there is dirt in its waste valve, or its air chamber is full of water.",
    "If it beats and nothing comes up: its delivery valve, or no air in its chamber.",
)
"""Ram handbooks (ram_practice.csv; from memory)."""
PROOFS = ("walk-passed", "walk-failed", "drill-passed", "drill-missed")
TAKES_PART = {
    "ok": "takes what you were told of: nobody further is told",
    "no": "you cannot: the next one is told at once",
    "tanks": "answers how every tank and box stands",
    "week": "answers with the last seven days",
    "dry": "the taps ran dry",
    "next": "the next step of filling the pipes again",
    "safe": "the water is known to be safe again",
    "over": "a tank is well again, for a box that never says so: with the tank's name",
    "work": "work on a tank: with its name and how long, such as 4h",
    "watch": "who is called first just now; with a name and until when: asks them to be",
    "away": "nobody draws water, until when: any draw is told",
    "people": "so many draw water, until when: with a number",
    "back": "somebody is there again",
    "adopt": "with the code that was sent: a new number counts as that box, or that person",
    "note": "a remark to be kept",
    "walk": "the test of a float after fitting",
    "words": "answers with this list",
}
"""What each word does, in the order in which a household needs them; words that the program has and this list has not stand below."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A line of a table: what it is, and what is known of it."""

    name: str
    told: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseBook:
    """All that is printed, in its order."""

    site: str
    made: str
    tanks: tuple[Row, ...]
    inputs: tuple[Row, ...]
    source: tuple[str, ...]
    taps: tuple[str, ...]
    notes: str
    people: tuple[Row, ...]
    watch: tuple[Row, ...]
    cards: tuple[Row, ...]
    words: tuple[Row, ...]
    proofs: tuple[Row, ...]
    year: tuple[Row, ...]
    configuration: tuple[Row, ...]
    store: str
    backups: str


def make_house_book(reader: Reader, site: Site, now: datetime) -> str:
    """The whole page as HTML."""
    return _template().render(book=house_book(reader, site, now), mark=BOOK_MARK)


def house_book(reader: Reader, site: Site, now: datetime) -> HouseBook:
    """What stands in it."""
    site = site_with_adopted(reader, site)
    settings = site.settings
    return HouseBook(
        site=settings.site.name,
        made=cldr.long_day("en", local_day(site, now)),
        tanks=tuple(_tank(site, tank) for tank in settings.tanks),
        inputs=tuple(_inputs(site)),
        source=tuple(_source(site)),
        taps=settings.bleed.taps,
        notes=settings.site.notes,
        people=tuple(_person(site, contact) for contact in _in_turn(settings.contacts)),
        watch=tuple(_watch(reader, site, now)),
        cards=tuple(_cards(reader, site, now)),
        words=tuple(_words(site.phrases.order_words())),
        proofs=tuple(_proof(site, event) for event in reader.events(since=now - YEAR, kinds=PROOFS)),
        year=tuple(_year(reader, site, now)),
        configuration=tuple(Row(name=key, told=value) for key, value in readable_values(site.as_written).items()),
        store=readable_values(site.as_written).get("store.url", settings.store.url),
        backups=settings.store.backup_folder or "none are made by themselves ([store] backup_folder)",
    )


def _tank(site: Site, tank: Tank) -> Row:
    litres = capacity_l(tank.shape) if tank.shape is not None else None
    size = "its size is not known" if litres is None else f"{litres:.0f} l"
    fed = ", ".join(site.tank_name(upstream) or upstream for upstream in tank.fed_by) or "the source"
    heights = [
        f"{switch.means} float at {switch.level_m:g} m above the outlet"
        if switch.level_m is not None
        else f"{switch.means} float"
        for switch in tank.floats
    ]
    heights += ["a gauge reads its level"] * bool(tank.gauges)
    return Row(name=tank.name, told="; ".join((size, f"fed by {fed}", *(heights or ["not watched"]))))


def _inputs(site: Site) -> Iterator[Row]:
    for tank in site.settings.tanks:
        told = [(switch.controller, switch.input, f"{switch.means} float") for switch in tank.floats]
        told += [(gauge.controller, gauge.input, "gauge") for gauge in tank.gauges]
        for controller, which, what in told:
            yield Row(name=f"{site.controller_name(controller)}, input {which}", told=f"{what} of {tank.name}")
    for own in site.settings.inputs:
        yield Row(name=f"{site.controller_name(own.controller)}, input {own.input}", told=own.name)


def _source(site: Site) -> Iterator[str]:
    settings = site.settings
    pump = settings.source.pump
    if isinstance(pump, RamPump):
        yield (
            f"A ram pump: {pump.drive_flow_l_min:g} l/min drive it over a fall of {pump.fall_m:g} m; "
            f"it lifts {pump.lift_m:g} m."
        )
        yield from RAM_SIGNS
    elif pump is not None:
        yield f"A steady flow of {pump.flow_l_min:g} l/min."
    for controller in settings.controllers:
        numbers = ", ".join(to_national(number, settings.site.country) for number in controller.number)
        yield f"{controller.name} texts from {numbers}."


def _in_turn(contacts: Sequence[Contact]) -> list[Contact]:
    return sorted(contacts, key=lambda contact: contact.turn)


def _person(site: Site, contact: Contact) -> Row:
    country = site.settings.site.country
    told = [to_national(contact.number, country), f"turn {contact.turn}", f"told of {', '.join(contact.about)}"]
    told += [f"quiet {contact.quiet}"] * bool(contact.quiet) + ["a landline, which is spoken to"] * (
        contact.line == "landline"
    )
    return Row(name=contact.name, told="; ".join(told))


def _watch(reader: Reader, site: Site, now: datetime) -> Iterator[Row]:
    """Who is called first, by the week; and by word, where somebody has it so."""
    for row in site.settings.watch:
        days = ", ".join(row.days) or "every day"
        yield Row(name=site.contact_name(row.contact) or row.contact, told=f"{days}, {row.begins} to {row.until}")
    watch = on_watch(reader, site, now)
    if watch is not None and watch.by_word:
        until = "until further notice"
        if watch.until is not None:
            until = f"until {cldr.long_day('en', local_day(site, watch.until))}"
        yield Row(name=watch.contact.name, told=f"just now, by word, {until}")


def _cards(reader: Reader, site: Site, now: datetime) -> Iterator[Row]:
    ends = tuple(cards_until(reader, site, now))
    for card in site.settings.sims:
        if card not in [until.card for until in ends]:
            yield Row(name=card.name, told="no end of it is known")
    for until in ends:
        yield Row(name=until.card.name, told=f"{until.words} {cldr.long_day('en', until.on)}")


def _words(order_words: Mapping[str, Sequence[str]]) -> Iterator[Row]:
    for name, does in TAKES_PART.items():
        if name in order_words:
            yield Row(name=order_words[name][0], told=does)
    others = [words[0] for name, words in order_words.items() if name not in TAKES_PART]
    if others:
        yield Row(name=", ".join(others), told="more of them; the README of the program says what each does")


def _proof(site: Site, event: Event) -> Row:
    what = "test after fitting" if event.kind.startswith("walk") else "test of the chain to the people"
    result = "passed" if event.kind.endswith("passed") else "NOT passed"
    return Row(name=cldr.long_day("en", local_day(site, event.at)), told=f"{what}: {result}")


def _year(reader: Reader, site: Site, now: datetime) -> Iterator[Row]:
    """How often each thing was not well in the last year, and how long at most."""
    episodes = [episode for episode in episodes_of(reader.events(since=now - YEAR, kinds=SHOWN_KINDS)) if episode.seen]
    places = [(f"t:{tank.id}", tank.name) for tank in site.settings.tanks]
    places += [(f"c:{controller.id}", controller.name) for controller in site.settings.controllers]
    families = {
        "low": "low",
        "dry": "dry taps",
        "high": "high",
        "silence": "silent",
        "power": "without power",
        "battery": "battery low",
    }
    for place, name in places:
        counted = []
        for family, words in families.items():
            mine = [episode for episode in episodes if episode.where == place and episode.family == family]
            if mine:
                longest = max(episode.lasted(now) for episode in mine)
                counted.append(
                    f"{words} {len(mine)} ×" + (f", {longest / timedelta(hours=1):.0f} h at most" if longest else "")
                )
        yield Row(name=name, told="; ".join(counted) or "nothing")


@lru_cache(maxsize=1)
def _template() -> "Template":
    return jinja_environment().get_template("house_book.html.j2")
