"""Settings → the site as handlers and status work with it: who is who by number, which float an input is, the compiled rules.

Built once per configuration; frozen.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import tzinfo
from typing import Literal
from zoneinfo import ZoneInfo

from gateway.facts import input_key
from gateway.orders import folded
from gateway.phone_numbers import normalise_number
from gateway.phrases import Phrasebook, load_phrases
from gateway.phrases.own_phrases import read_own_phrases, with_own_phrases
from gateway.rules.rulebook import Rulebook, compile_rulebook
from gateway.rules.unreachable import states_told_of
from gateway.settings.controller_tables import Controller, Input
from gateway.settings.models import Settings
from gateway.settings.people_tables import Contact
from gateway.settings.water_tables import Float, Gauge, Tank

AlarmEnd = Literal["heard", "reckoned", "said"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedFloat:
    """A float and its tank; `key` names its memory in the store. `ends`: how its alarm ends."""

    tank: Tank
    float: Float
    ends: AlarmEnd = "heard"

    @property
    def key(self) -> str:
        """`<controller>:<input>`."""
        return f"{self.float.controller}:{input_key(self.float.input)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedGauge:
    """A gauge and its tank; `key` names its memory in the store."""

    tank: Tank
    gauge: Gauge

    @property
    def key(self) -> str:
        """`<controller>:<input>`."""
        return f"{self.gauge.controller}:{input_key(self.gauge.input)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """Everything of the configuration that handlers and status look up."""

    settings: Settings
    as_written: Settings
    """The file's own; `settings` has the numbers besides that were adopted since."""
    zone: tzinfo
    phrases: Phrasebook
    books: Mapping[str, Rulebook]
    controllers: Mapping[str, Controller]
    controller_by_number: Mapping[str, Controller]
    contacts: Mapping[str, Contact]
    contact_by_number: Mapping[str, Contact]
    tanks: Mapping[str, Tank]
    floats: Mapping[tuple[str, str], PlacedFloat]
    gauges: Mapping[tuple[str, str], PlacedGauge]
    inputs: Mapping[tuple[str, str], Input]
    """Inputs that are no tank's."""
    upstream: Mapping[str, frozenset[str]]

    @property
    def segments(self) -> int:
        """How long one message may get; at least two where the language needs letters of which a segment holds seventy."""
        return segments_allowed(self.settings, self.phrases)

    def number(self, raw: str) -> str:
        """A sender as the wire had it → E.164 where it can be."""
        return normalise_number(raw, self.settings.site.country)

    def controller_of(self, number: str) -> Controller | None:
        """Who sends from this number; names compare without case."""
        return self.controller_by_number.get(number) or self.controller_by_number.get(number.casefold())

    def contact_called(self, written: str) -> Contact | None:
        """By id or name, without case and accents; None where none or several are called so."""
        called = folded(written)
        meant = [contact for contact in self.contacts.values() if called in (folded(contact.id), folded(contact.name))]
        return meant[0] if len(meant) == 1 else None

    def floats_of(self, tank: str) -> tuple[PlacedFloat, ...]:
        """The tank's floats, in the order of the file."""
        return tuple(placed for placed in self.floats.values() if placed.tank.id == tank)

    def gauges_of(self, tank: str) -> tuple[PlacedGauge, ...]:
        """The tank's gauges, in the order of the file."""
        return tuple(placed for placed in self.gauges.values() if placed.tank.id == tank)

    def tanks_of(self, controller: str) -> tuple[Tank, ...]:
        """The tanks that have a float or a gauge on this controller."""
        return tuple(
            tank
            for tank in self.tanks.values()
            if controller
            in {*(placed.controller for placed in tank.floats), *(gauge.controller for gauge in tank.gauges)}
        )

    def tank_name(self, tank: str | None) -> str | None:
        """Its name; the id itself for one that is configured no more."""
        return None if tank is None else self.tanks[tank].name if tank in self.tanks else tank

    def controller_name(self, controller: str | None) -> str | None:
        """Its name; the id itself for one that is configured no more."""
        if controller is None:
            return None
        return self.controllers[controller].name if controller in self.controllers else controller

    def contact_name(self, contact: str | None) -> str | None:
        """Their name; the id itself for one that is configured no more."""
        return None if contact is None else self.contacts[contact].name if contact in self.contacts else contact

    def house_tank(self) -> Tank | None:
        """The tank that feeds the house: the one that feeds no other (the last such in the file)."""
        last = self.house_tanks()
        return self.tanks[last[-1]] if last else None

    def house_tanks(self) -> tuple[str, ...]:
        """The ids of the tanks that feed no other."""
        feeding = {upstream for tank in self.tanks.values() for upstream in tank.fed_by}
        return tuple(tank for tank in self.tanks if tank not in feeding)


SEGMENTS_OF_OWN_LETTERS = 2
"""What such a language gets unless the household wrote `limits.segments = 1` itself."""


def household_phrases(settings: Settings) -> Phrasebook:
    """The phrases of `site.language`. In one segment alone, and only if that was written, a language goes into Latin letters."""
    limits, file = settings.limits, phrase_file(settings)
    book = load_phrases(
        settings.site.language, in_one_segment=limits.segments == 1 and "segments" in limits.model_fields_set
    )
    return replace(book, data=with_own_phrases(book.language, read_own_phrases(file))) if file else book


def phrase_file(settings: Settings) -> str:
    """The household's own phrases; empty where it has none."""
    return settings.site.phrases or settings.phrases


def segments_allowed(settings: Settings, phrases: Phrasebook) -> int:
    """`limits.segments`, and more where the language needs it."""
    needs_more = phrases.has_own_alphabet and not phrases.in_one_segment
    return max(settings.limits.segments, SEGMENTS_OF_OWN_LETTERS) if needs_more else settings.limits.segments


def compile_site(settings: Settings) -> Site:
    """Looks everything up once."""
    controllers = {controller.id: controller for controller in settings.controllers}
    contacts = {contact.id: contact for contact in settings.contacts}
    return Site(
        settings=settings,
        as_written=settings,
        zone=ZoneInfo(settings.site.timezone),
        phrases=household_phrases(settings),
        books={controller.id: compile_rulebook(controller.rules) for controller in settings.controllers},
        controllers=controllers,
        controller_by_number={
            key: controller
            for controller in settings.controllers
            for number in controller.number
            for key in (number, number.casefold())
        },
        contacts=contacts,
        contact_by_number={contact.number: contact for contact in settings.contacts},
        tanks={tank.id: tank for tank in settings.tanks},
        floats={
            (of_tank.controller, input_key(of_tank.input)): PlacedFloat(
                tank=tank, float=of_tank, ends=alarm_end(of_tank, controllers)
            )
            for tank in settings.tanks
            for of_tank in tank.floats
        },
        gauges={
            (gauge.controller, input_key(gauge.input)): PlacedGauge(tank=tank, gauge=gauge)
            for tank in settings.tanks
            for gauge in tank.gauges
        },
        inputs={(own.controller, input_key(own.input)): own for own in settings.inputs},
        upstream=_upstream(settings),
    )


def alarm_end(of_tank: Float, controllers: Mapping[str, Controller]) -> AlarmEnd:
    """How a float's alarm ends: as it is configured, else `heard` where a rule can say that it is idle, else `reckoned`."""
    controller = controllers.get(of_tank.controller)
    told = states_told_of(controller.rules, of_tank.input) if controller is not None else frozenset()
    return of_tank.over or ("heard" if "idle" in told else "reckoned")


def _upstream(settings: Settings) -> dict[str, frozenset[str]]:
    """Of each tank every tank that its water comes through; `check` refuses a loop."""
    fed_by = {tank.id: tank.fed_by for tank in settings.tanks}

    def above(tank: str, known: frozenset[str]) -> frozenset[str]:
        for other in fed_by.get(tank, ()):
            known = known if other in known else above(other, known | {other})
        return known

    return {tank: above(tank, frozenset()) for tank in fed_by}
