"""The store that a life leaves, and what was really so → the account: how often low, how long dry before anybody knew, how many messages."""

import statistics
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any

from gateway.facts.kinds import KINDS
from gateway.ports import Reader, StoredText
from gateway.rehearsal.lived_through import ForecastMade, Lived
from gateway.simulator.household.box import lowest_charge
from gateway.simulator.household.household import TrueSpell

NIGHT_FROM, NIGHT_UNTIL = time(22, 0), time(6, 0)
BEFORE_DRY = timedelta(days=7)
"""How far before dry taps a message about a tank is taken to have told of them."""
LEFT = ("sent", "delivered", "unsure")


@dataclass(frozen=True, slots=True, kw_only=True)
class DrySpell:
    """The taps ran dry. `told_at`: the first message about a low tank since water last stood above the float; None: nobody was told before."""

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
                    "from": spell.began.isoformat(),
                    "until": spell.until.isoformat() if spell.until else None,
                    "told_at": spell.told_at.isoformat() if spell.told_at else None,
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


def account_of(reader: Reader, lived: Lived) -> Account:
    """Adds up what the store holds, beside what was really so."""
    site = lived.site
    texts = reader.texts()
    events = reader.events()
    kinds = {event.id: event.kind for event in events}
    told = [text for text in texts if text.way == "out" and text.contact is not None and text.state in LEFT]
    low = {event.id for event in events if event.kind == "low"}
    limits = site.settings.limits
    segments = sum(text.segments for text in texts if text.way == "out" and text.state in LEFT)
    return Account(
        days=round((lived.until - lived.start) / timedelta(days=1), 3),
        seed=lived.seed,
        texts_in=sum(text.way == "in" for text in texts),
        low_spells=dict(sorted(Counter(event.tank for event in events if event.kind == "low" and event.tank).items())),
        dry_spells=tuple(_dry(spell, [text.at for text in told if text.event in low]) for spell in lived.truth.dry),
        messages=tuple(_messages_to(contact.id, told, kinds, lived) for contact in site.settings.contacts),
        cost=round(segments * limits.price_per_segment, 2),
        currency=limits.currency,
        forecasts=_held(lived.forecasts),
        causes=_causes(lived.forecasts),
        events=dict(sorted(Counter(event.kind for event in events).items())),
        lowest_charge={name: round(box.lowest, 3) for name, box in lived.household.boxes.items() if box.sun_ah},
        with_second_panel={
            name: round(lowest_charge(box.sun_ah, box, 2.0), 3)
            for name, box in lived.household.boxes.items()
            if box.sun_ah
        },
        unspoken=tuple(sorted(said for box in lived.household.boxes.values() for said in box.unspoken)),
    )


def _dry(spell: TrueSpell, told: list[datetime]) -> DrySpell:
    before = [at for at in told if spell.began - BEFORE_DRY <= at <= spell.began]
    return DrySpell(began=spell.began, until=spell.until, told_at=min(before, default=None))


def _messages_to(contact: str, told: list[StoredText], kinds: Mapping[int | None, str], lived: Lived) -> MessagesTo:
    theirs = [text for text in told if text.contact == contact]
    priorities = Counter(_priority(kinds.get(text.event)) for text in theirs)
    return MessagesTo(
        contact=contact,
        urgent=priorities["urgent"],
        soon=priorities["soon"],
        record=priorities["record"],
        night=sum(_by_night(text.at.astimezone(lived.site.zone).time()) for text in theirs),
    )


def _priority(kind: str | None) -> str:
    """Of what a message tells; what tells of no event (the weekly report, an answer) wakes nobody."""
    return "record" if kind is None or kind not in KINDS else KINDS[kind].priority


def _by_night(at: time) -> bool:
    return at >= NIGHT_FROM or at < NIGHT_UNTIL


def _held(forecasts: list[ForecastMade]) -> tuple[int, int, float | None]:
    """Of those whose truth is known: how many held, of how many, and the median factor between likely and true."""
    known = [made for made in forecasts if made.true_dry_at is not None]
    inside = sum(made.early <= made.true_dry_at <= made.late for made in known if made.true_dry_at is not None)
    factors = []
    for made in known:
        assert made.true_dry_at is not None
        likely_h = max((made.likely - made.at) / timedelta(hours=1), 0.1)
        true_h = max((made.true_dry_at - made.at) / timedelta(hours=1), 0.1)
        factors.append(max(likely_h / true_h, true_h / likely_h))
    return inside, len(known), round(statistics.median(factors), 3) if factors else None


def _causes(forecasts: list[ForecastMade]) -> tuple[int, int]:
    known = [made for made in forecasts if made.true_cause is not None and made.cause is not None]
    return sum(made.cause == made.true_cause for made in known), len(known)
