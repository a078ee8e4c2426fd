"""Water, box, network and people together: lived on from one text to the next.

The one who drives asks `next_arrival(until)` for the next text that reaches the gateway, and says `left(…)` for each message that the
gateway's modem handed over. What really happened (spells, dry taps, troubles) is kept aside in `truth`; the gateway never sees it.
"""

import copy
import heapq
import math
import random
from array import array
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import count
from typing import Literal
from zoneinfo import ZoneInfo

from gateway.settings.models import Settings
from gateway.simulator.household.box import BoxText, FieldBox
from gateway.simulator.household.contacts_at_home import Deed, Person
from gateway.simulator.household.gauge_texts import FieldGauges
from gateway.simulator.household.supply import STEP, Supply
from gateway.simulator.household.troubles import CAUSE_OF, Trouble, planned

TAKES_MEDIAN_S, TAKES_SD = 6.0, 0.6
LATE, VERY_LATE, LOST, REPEATED = 0.02, 0.005, 0.005, 0.003
"""Shares of texts (assumptions): up to half an hour late, up to eight hours, never there, there twice."""
LOOKED_AHEAD = timedelta(days=10)
PASSES_BY_EVERY_DAYS = 7.0
"""Somebody passes the box so often and sees that it is dead, whatever they were told (an assumption)."""
NO_NEWS_WITHIN = timedelta(hours=24)
"""Taps that run dry again so soon are no news to anybody."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """A text reaches the gateway's modem. `sent_at`: the network's time stamp; `again`: the very same text once more."""

    at: datetime
    number: str
    text: str
    sent_at: datetime
    again: bool = False


@dataclass(slots=True, kw_only=True)
class TrueSpell:
    """A time in which something was so. `until` None: to the end."""

    began: datetime
    until: datetime | None = None


@dataclass(slots=True, kw_only=True)
class Truth:
    """What really happened. `low`: by tank and by what says so, as its low float hung or its gauge stood.

    `dry`: of the taps; `level_l`: above the taps, each step.
    """

    low: dict[tuple[str, Literal["float", "gauge"]], list[TrueSpell]] = field(default_factory=dict)
    dry: list[TrueSpell] = field(default_factory=list)
    troubles: list[Trouble] = field(default_factory=list)
    box_dead: dict[str, list[TrueSpell]] = field(default_factory=dict)
    level_l: "array[float]" = field(default_factory=lambda: array("f"))


class Household:
    """Everything outside the gateway, for so many days from `start` on, by a seed."""

    def __init__(self, settings: Settings, seed: int, start: datetime, days: float, stories: Sequence[str]) -> None:
        zone = ZoneInfo(settings.site.timezone)
        self.start, self.days = start, days
        self.supply = Supply(settings, zone, seed, start)
        self.boxes = {box.id: FieldBox(box, settings.site.latitude, zone, seed) for box in settings.controllers}
        self._gauges = FieldGauges(settings, seed, start)
        self._people = {contact.number: Person(contact, zone, seed) for contact in settings.contacts}
        self._box_by_number = {number: box for box in self.boxes.values() for number in box.controller.number}
        self._rng = random.Random(f"{seed} network")
        self._trouble_rng = random.Random(f"{seed} troubles")
        self.truth = Truth(troubles=planned(self._trouble_rng, start, days, tuple(stories)))
        self._order = count()
        self._ahead: list[tuple[datetime, int, Arrival | Deed | FieldBox]] = []
        self._day = start.astimezone(zone).toordinal()
        self._zone = zone
        self._dry_at: datetime | None = None
        for box in self.boxes.values():
            self._plan(box.first_sign_of_life(start), box)

    @property
    def at(self) -> datetime:
        """How far it was lived."""
        return self.supply.at

    def next_arrival(self, until: datetime) -> Arrival | None:
        """Lives on until a text reaches the gateway, which it returns, or until that time (None)."""
        while True:
            step_at = self.supply.at + STEP
            planned_at = self._ahead[0][0] if self._ahead else step_at
            if min(step_at, planned_at) > until:
                return None
            if planned_at <= step_at and self._ahead:
                arrival = self._do(heapq.heappop(self._ahead)[2], planned_at)
                if arrival is not None:
                    return arrival
            else:
                self._step()

    def left(self, number: str, text: str, at: datetime) -> None:
        """A message of the gateway has arrived at a phone or a box."""
        person, box = self._people.get(number), self._box_by_number.get(number)
        if person is not None:
            for deed in person.gets(text, at, something_is_wrong=self._something_is_wrong()):
                self._plan(deed.at, deed)
            self.supply.careful = self.supply.careful or self._house_is_low()
        elif box is not None:
            self._send(box.asked(text, at))

    def empty_if_nobody_helps(self, tank: str) -> datetime | None:
        """When that tank would be empty from now on if nobody did anything; None: not within ten days."""
        alone = copy.deepcopy(self.supply)
        vessel = next(vessel for vessel in alone.vessels if vessel.tank.id == tank)
        troubles = [copy.copy(trouble) for trouble in self.truth.troubles]
        end = alone.at + LOOKED_AHEAD
        while alone.at < end:
            if vessel.is_empty:
                return alone.at
            alone.step(troubles)
        return None

    def causes_now(self, tank: str) -> frozenset[str]:
        """What is wrong with that tank now, in the gateway's words."""
        sticks = self.supply.stuck_tank
        return frozenset(
            CAUSE_OF[trouble.kind]
            for trouble in self.truth.troubles
            if trouble.kind in CAUSE_OF
            and trouble.lasts(self.supply.at)
            and (trouble.kind != "float-stuck" or tank == sticks)
        )

    def _step(self) -> None:
        for switched in self.supply.step(self.truth.troubles):
            box = self.boxes[switched.float.controller]
            said = box.switched(switched.float.input, active=switched.float.active, at=switched.at)
            self._send(said)
            if switched.float.means == "low":
                self._note(self.truth.low.setdefault((switched.tank, "float"), []), switched.float.active)
                self.supply.careful = self.supply.careful and switched.float.active
        litres = {vessel.tank.id: vessel.litres for vessel in self.supply.vessels}
        for tank, low in self._gauges.low(litres):
            spells = self.truth.low.setdefault((tank, "gauge"), [])
            was_low = bool(spells) and spells[-1].until is None
            self._note(spells, low)
            self.supply.careful = self.supply.careful and (low or not was_low)
        for said in self._gauges.texts(litres, self.boxes, self.supply.at):
            self._send(said)
        self._sticks_and_breaks()
        if self.supply.tap is not None:
            self.truth.level_l.append(self.supply.vessels[self.supply.tap].litres)
        self._taps()
        day = self.supply.at.astimezone(self._zone).toordinal()
        if day != self._day:
            self._day = day
            self._night_falls()

    def _somebody(self, does: "Callable[[Person, datetime], tuple[Deed, ...]]") -> None:
        for person in list(self._people.values())[:1]:
            for deed in does(person, self.supply.at):
                self._plan(deed.at, deed)

    def _night_falls(self) -> None:
        dead = any(not box.alive for box in self.boxes.values())
        if self.supply.taps_are_dry or (dead and self._rng.random() < 1 / PASSES_BY_EVERY_DAYS):
            self._somebody(Person.looks_again)
        for box in self.boxes.values():
            box.day_passes(self.supply.at, self.supply.weather)
            self._note(self.truth.box_dead.setdefault(box.controller.id, []), not box.alive)

    def _sticks_and_breaks(self) -> None:
        for trouble in self.truth.troubles:
            if trouble.kind == "float-stuck":
                self.supply.first_float_sticks(trouble.lasts(self.supply.at))
            elif trouble.kind == "box-dead" and trouble.lasts(self.supply.at):
                box = next(iter(self.boxes.values()), None)
                if box is not None and not box.broken:
                    box.breaks(self.supply.at)
                    self._note(self.truth.box_dead.setdefault(box.controller.id, []), True)

    def _taps(self) -> None:
        dry = self.supply.taps_are_dry
        self._note(self.truth.dry, dry)
        if not dry:
            return
        if self._dry_at is None or self.supply.at - self._dry_at > NO_NEWS_WITHIN:
            self._somebody(Person.finds_taps_dry)
        self._dry_at = self.supply.at

    def _do(self, what: "Arrival | Deed | FieldBox", at: datetime) -> Arrival | None:
        match what:
            case Arrival():
                return what
            case Deed(mends=True):
                self._mend(at)
            case Deed():
                self._carry(BoxText(at=at, number=what.contact.number, text=what.text))
            case FieldBox():
                self._send(what.sign_of_life(at))
                self._plan(at + what.says_hello_every, what)
        return None

    def _mend(self, at: datetime) -> None:
        """Somebody is there: what can be mended is, and the ram beats again."""
        for trouble in self.truth.troubles:
            if trouble.lasts(at) and trouble.kind not in ("dry-spell", "winter"):
                trouble.ended = at
        self.supply.ram_beats = True
        for box in self.boxes.values():
            if box.broken or not box.alive:
                box.mended()
                self._note(self.truth.box_dead.setdefault(box.controller.id, []), False)

    def _send(self, said: BoxText | None) -> None:
        if said is not None:
            self._carry(said)

    def _carry(self, said: BoxText) -> None:
        """The network: soon, late, twice, or never."""
        chance = self._rng.random()
        takes = TAKES_MEDIAN_S * math.exp(self._rng.gauss(0, TAKES_SD))
        if chance < LOST:
            return
        if chance < LOST + VERY_LATE:
            takes = self._rng.uniform(1800, 8 * 3600)
        elif chance < LOST + VERY_LATE + LATE:
            takes = self._rng.uniform(60, 1800)
        arrival = Arrival(
            at=said.at + timedelta(seconds=round(takes)),
            number=said.number,
            text=said.text,
            sent_at=said.at.replace(microsecond=0),
        )
        self._plan(arrival.at, arrival)
        if self._rng.random() < REPEATED:
            again = arrival.at + timedelta(seconds=self._rng.randrange(20, 60))
            self._plan(
                again, Arrival(at=again, number=said.number, text=said.text, sent_at=arrival.sent_at, again=True)
            )

    def _plan(self, at: datetime, what: "Arrival | Deed | FieldBox") -> None:
        heapq.heappush(self._ahead, (max(at, self.supply.at), next(self._order), what))

    def _house_is_low(self) -> bool:
        tap = self.supply.tap
        if tap is None:
            return False
        vessel = self.supply.vessels[tap]
        by_gauge = self.truth.low.get((vessel.tank.id, "gauge"), ())
        return any(switch.active and switch.means == "low" for switch in vessel.floats) or any(
            spell.until is None for spell in by_gauge
        )

    def _something_is_wrong(self) -> bool:
        return self.supply.taps_are_dry or self._house_is_low() or any(not box.alive for box in self.boxes.values())

    def _note(self, spells: list[TrueSpell], so: bool) -> None:
        """A spell begins, or ends."""
        lasting = spells[-1] if spells and spells[-1].until is None else None
        if so and lasting is None:
            spells.append(TrueSpell(began=self.supply.at))
        elif not so and lasting is not None:
            lasting.until = self.supply.at
