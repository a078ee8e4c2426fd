"""The test of the chain to the people: who was reached and how long it took, whether it is over, when it is due and when overdue.

How often is the household's choice. EN 50136-1 is about the path, not the people: it has an alarm path report itself within 32 days (SP1)
or 25 hours (SP2), which the box's signs of life do (from memory). For people there is common practice only: each quarter.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any, Literal

from gateway.facts.states.errands_and_tests import DrillUnderWay, DrillWatched, TimedMessage
from gateway.ports import Reader
from gateway.settings.people_tables import Contact
from gateway.site import Site
from gateway.status.gateway_troubles import trouble_since

Reached = Literal["answered", "delivered", "sent", "failed"]
ENDS = ("drill-passed", "drill-missed", "contact-tested")
WAIT = timedelta(minutes=10)
"""So long a drill that somebody ordered waits for the last OK."""
WAIT_BY_ITSELF = timedelta(days=1)
"""One that the calendar began: people sleep, and answer when they see it."""
GRACE_SHARE, AGAIN_SHARE = 10, 3
"""Overdue a tenth of `drill.every` after it was due; after one that did not reach everybody the next comes after a third of it."""
HOUR_OF_DAY = time(10, 0)
"""At which a test that is due on some day leaves: nobody is woken by it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """How far the test got with one contact."""

    contact: str
    result: Reached
    sent_after_s: float | None
    delivered_after_s: float | None
    answered_after_s: float | None

    def as_json(self) -> dict[str, Any]:
        """As the contract has it."""
        return {
            "contact": self.contact,
            "result": self.result,
            "sent_after_s": self.sent_after_s,
            "delivered_after_s": self.delivered_after_s,
            "answered_after_s": self.answered_after_s,
        }


def legs_of(reader: Reader, drill: DrillUnderWay) -> tuple[Leg, ...]:
    """Each contact of the drill, as far as is known by now."""
    return tuple(_leg(reader, message, drill.at) for message in drill.messages)


def reached(site: Site, leg: Leg) -> bool:
    """Whether the chain to that contact works: an OK; of who cannot give one, the network's word that it arrived."""
    contact = site.contacts.get(leg.contact)
    if contact is not None and can_answer(contact):
        return leg.result == "answered"
    reports = site.settings.modem.delivery_reports
    return leg.result in (("answered", "delivered") if reports else ("answered", "delivered", "sent"))


def can_answer(contact: Contact) -> bool:
    """Whether an OK of theirs would be obeyed."""
    return contact.line == "mobile" and contact.may_ask


def is_over(reader: Reader, site: Site, drill: DrillUnderWay, now: datetime) -> bool:
    """Whether nothing more can come, or its time is up."""
    if now >= drill.until or drill.at > now:
        return True
    return all(_is_final(reader, site, message) for message in drill.messages)


def drill_dues(reader: Reader, site: Site, now: datetime) -> Iterator[datetime]:
    """When a drill must be ended, begun, or called overdue."""
    drill = reader.state(DrillUnderWay)
    if drill is not None:
        yield now if is_over(reader, site, drill, now) else drill.until
    every = site.settings.drill.every
    watched = reader.state(DrillWatched)
    if (every is None) is not (watched is None):
        yield now
    if every is None or watched is None:
        return
    if drill is None:
        yield next_by_itself(reader, site, watched, every)
    if trouble_since(reader, "drill-overdue") is None:
        yield overdue_at(reader, watched, every)


def next_by_itself(reader: Reader, site: Site, watched: DrillWatched, every: timedelta) -> datetime:
    """When the calendar begins one: of whole days at ten in the morning."""
    due = proven_at(reader, watched) + every
    if watched.tried_at is not None:
        due = max(due, watched.tried_at + every / AGAIN_SHARE)
    if every < timedelta(days=1):
        return due
    local = due.astimezone(site.zone)
    at_ten = datetime.combine(local.date(), HOUR_OF_DAY, tzinfo=site.zone)
    return max(at_ten if at_ten >= local else at_ten + timedelta(days=1), local)


def overdue_at(reader: Reader, watched: DrillWatched, every: timedelta) -> datetime:
    """From when on the chain counts as not proven: a tenth of the time beyond, and at least as long as one is waited for."""
    grace = max(
        every / GRACE_SHARE, wait_by_itself(every) + (timedelta(days=1) if every >= timedelta(days=1) else timedelta(0))
    )
    return proven_at(reader, watched) + every + grace


def wait_by_itself(every: timedelta) -> timedelta:
    """How long one that the calendar began is waited for."""
    return min(WAIT_BY_ITSELF, every / AGAIN_SHARE)


def drill_json(site: Site, detail: Mapping[str, Any]) -> dict[str, Any]:
    """The contract's document, from what stands on record."""
    at = datetime.fromisoformat(detail["at"]).astimezone(site.zone).isoformat()
    return {"at": at, "contacts": [dict(leg) for leg in detail["contacts"]]}


def proven_at(reader: Reader, watched: DrillWatched) -> datetime:
    """When a drill last reached everybody; before the first, when the household began to count."""
    passed = reader.last_event(("drill-passed",))
    return max(passed.at, watched.since) if passed is not None else watched.since


def _is_final(reader: Reader, site: Site, message_id: int) -> bool:
    message = reader.message(message_id)
    if message is None or message.state == "failed":  # given up
        return True
    return reached(site, _leg(reader, message_id, message.at))


def _leg(reader: Reader, message_id: int, began: datetime) -> Leg:
    timed, message = reader.state(TimedMessage, str(message_id)), reader.message(message_id)
    contact = timed.contact if timed is not None else (message.contact if message is not None else None) or ""

    def after(at: datetime | None) -> float | None:
        return None if at is None else round(max(0.0, (at - began).total_seconds()), 3)

    sent, delivered, answered = (
        (timed.sent_at, timed.delivered_at, timed.answered_at) if timed is not None else (None, None, None)
    )
    result: Reached = "failed"
    if answered is not None:
        result = "answered"
    elif delivered is not None:
        result = "delivered"
    elif sent is not None and message is not None and message.state != "failed":
        result = "sent"
    return Leg(
        contact=contact,
        result=result,
        sent_after_s=after(sent),
        delivered_after_s=after(delivered),
        answered_after_s=after(answered),
    )
