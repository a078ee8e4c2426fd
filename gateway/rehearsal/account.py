"""The store that a life leaves, and what was really so → the account: how often low, how long dry before anybody knew, how many messages."""

import statistics
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import Any

from gateway.alarms.month_figures import is_night
from gateway.facts import Event
from gateway.facts.event_kind import Priority
from gateway.ports import Reader, StoredText
from gateway.rehearsal.lived_through import ForecastMade, Lived
from gateway.simulator.household.box import lowest_charge
from gateway.simulator.household.household import TrueSpell

A_TRICKLE_LASTS = timedelta(hours=24)
"""Water that comes for a shorter time than this between two dry taps ends no dry spell."""
FLOAT_TO_EVENT = timedelta(minutes=10)
"""By so much the time in a box's text may lie before the float's own (the box stamps whole minutes)."""
LEFT = ("sent", "delivered", "unsure")


@dataclass(frozen=True, slots=True, kw_only=True)
class DrySpell:
    """The taps ran dry. `told_at`: the first message about a tank since its float fell, which still hung then; None: nobody was told before."""

    began: datetime
    until: datetime | None
    told_at: datetime | None

    @property
    def margin_h(self) -> float | None:
        """How many hours before it was told."""
        return None if self.told_at is None else round((self.began - self.told_at) / timedelta(hours=1), 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class MessagesTo:
    """How many messages one contact got. `night`: of them between ten and six."""

    contact: str
    urgent: int
    soon: int
    record: int
    night: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """What a household can decide by. `forecasts`: (inside, of, median factor); `causes`: (right, of)."""

    zone: tzinfo
    days: float
    seed: int
    texts_in: int
    low_spells: Mapping[str, int]
    dry_spells: tuple[DrySpell, ...]
    messages: tuple[MessagesTo, ...]
    cost: float
    currency: str
    forecasts: tuple[int, int, float | None]
    causes: tuple[int, int]
    events: Mapping[str, int]
    lowest_charge: Mapping[str, float]
    with_second_panel: Mapping[str, float]
    unspoken: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """The contract's `rehearse --config … --json`."""
        inside, of, factor = self.forecasts
        return {
            "days": self.days,
            "seed": self.seed,
            "texts_in": self.texts_in,
            "low_spells": sum(self.low_spells.values()),
            "dry_spells": [
                {
                    "from": self._local(spell.began),
                    "until": self._local(spell.until),
                    "told_at": self._local(spell.told_at),
                    "margin_h": spell.margin_h,
                }
                for spell in self.dry_spells
            ],
            "messages": [
                {
                    "contact": person.contact,
                    "urgent": person.urgent,
                    "soon": person.soon,
                    "record": person.record,
                    "night": person.night,
                }
                for person in self.messages
            ],
            "cost": self.cost,
            "currency": self.currency,
            "forecasts": {"inside": inside, "of": of, "factor": factor},
            "causes": {"right": self.causes[0], "of": self.causes[1]},
            "events": dict(self.events),
        }

    def _local(self, at: datetime | None) -> str | None:
        return at.astimezone(self.zone).isoformat() if at else None


def account_of(reader: Reader, lived: Lived) -> Account:
    """Adds up what the store holds, beside what was really so."""
    site = lived.site
    texts = reader.texts()
    events = reader.events()
    left = [text for text in texts if text.way == "out" and text.state in LEFT]
    priorities = _priorities(texts)
    limits = site.settings.limits
    boxes = lived.household.boxes
    return Account(
        zone=site.zone,
        days=round((lived.until - lived.start) / timedelta(days=1), 3),
        seed=lived.seed,
        texts_in=sum(text.way == "in" for text in texts),
        low_spells=dict(sorted(Counter(event.tank for event in events if event.kind == "low" and event.tank).items())),
        dry_spells=tuple(_dry(spell, events, left, lived) for spell in _joined(lived.truth.dry)),
        messages=tuple(_messages_to(contact.id, left, priorities, lived) for contact in site.settings.contacts),
        cost=round(sum(text.segments for text in left) * limits.price_per_segment, 2),
        currency=limits.currency,
        forecasts=_held(lived.forecasts),
        causes=_causes(lived.forecasts),
        events=dict(sorted(Counter(event.kind for event in events).items())),
        lowest_charge={name: round(box.lowest, 3) for name, box in boxes.items() if box.sun_ah},
        with_second_panel={
            name: round(lowest_charge(box.sun_ah, box, 2.0), 3) for name, box in boxes.items() if box.sun_ah
        },
        unspoken=tuple(sorted(said for box in boxes.values() for said in box.unspoken)),
    )


def _joined(spells: Sequence[TrueSpell]) -> list[TrueSpell]:
    """Dry spells with no more than a trickle between them are one."""
    joined: list[TrueSpell] = []
    for spell in spells:
        if joined and joined[-1].until is not None and spell.began - joined[-1].until < A_TRICKLE_LASTS:
            joined[-1] = TrueSpell(began=joined[-1].began, until=spell.until)
        else:
            joined.append(spell)
    return joined


def _dry(spell: TrueSpell, events: Sequence[Event], left: Sequence[StoredText], lived: Lived) -> DrySpell:
    """The first message about a float or a gauge that was low before the taps ran dry and still was then."""
    told: set[int | None] = set()
    for (tank, _), hung in lived.truth.low.items():
        fell = next((low.began for low in hung if low.began <= spell.began and _lasted(low, spell.began)), None)
        if fell is not None:
            told |= {
                event.id
                for event in events
                if event.kind == "low" and event.tank == tank and fell - FLOAT_TO_EVENT <= event.at <= spell.began
            }
    before = [text.at for text in left if text.contact and text.event in told and text.at <= spell.began]
    return DrySpell(began=spell.began, until=spell.until, told_at=min(before, default=None))


def _lasted(low: TrueSpell, until: datetime) -> bool:
    return low.until is None or low.until >= until


def _messages_to(
    contact: str, left: Sequence[StoredText], priorities: Mapping[int, Priority], lived: Lived
) -> MessagesTo:
    theirs = [text for text in left if text.contact == contact]
    counts = Counter(priorities[text.id] for text in theirs)
    return MessagesTo(
        contact=contact,
        urgent=counts["urgent"],
        soon=counts["soon"],
        record=counts["record"],
        night=sum(is_night(text.at.astimezone(lived.site.zone)) for text in theirs),
    )


def _priorities(texts: Sequence[StoredText]) -> dict[int, Priority]:
    """How urgent each message is: whether it may wake people; what tells of no event (the weekly report, an answer) is on record only."""
    return {text.id: "record" if text.event is None else "urgent" if text.urgent else "soon" for text in texts}


def _held(forecasts: list[ForecastMade]) -> tuple[int, int, float | None]:
    """How many held, of how many, and the median factor between likely and true of those that came true at some time.

    One of a tank that would not have run dry at all did not hold.
    """
    inside, of, factors = 0, 0, []
    for made in forecasts:
        if made.dry_at is None:
            continue
        of += 1
        if made.true_dry_at is None:
            continue
        early, likely, late = made.dry_at
        inside += early <= made.true_dry_at <= late
        likely_h = max((likely - made.at) / timedelta(hours=1), 0.1)
        true_h = max((made.true_dry_at - made.at) / timedelta(hours=1), 0.1)
        factors.append(max(likely_h / true_h, true_h / likely_h))
    return inside, of, round(statistics.median(factors), 3) if factors else None


def _causes(forecasts: list[ForecastMade]) -> tuple[int, int]:
    """How many causes were named rightly, of all that were named while something was wrong; "unclear" names none."""
    named = [made for made in forecasts if made.true_causes and made.cause not in (None, "unclear")]
    return sum(made.cause in made.true_causes for made in named), len(named)
