"""`AWAY until sunday 18:00`, `PEOPLE 8 until sunday`, `BACK`: what a contact's phone says of who draws water."""

import re
from datetime import UTC, datetime

from gateway.facts import Event, Text
from gateway.facts.states.people import Presence
from gateway.handlers.enqueue import reply_with
from gateway.handlers.late_orders import reply_late, written_at, written_before
from gateway.handlers.presence import say_people
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.orders import Away, Back, People, moment_of, split_until
from gateway.phrases.phrasebook import When
from gateway.settings.people_tables import Contact
from gateway.status.presence import presence_now

HOW_MANY = re.compile(r"\d{1,4}")


def obey_of_presence(unit: UnitOfWork, contact: Contact, text: Text, order: Away | People | Back) -> Event | None:
    """Does it, and answers. What was written before somebody said otherwise does nothing."""
    kept = unit.tx.state(Presence)
    if kept is not None and written_before(unit, text, kept.since):
        reply_late(unit, contact, text)
        return None
    match order:
        case Back():
            return _back(unit, contact, text)
        case Away():
            return _from_now_on(unit, contact, text, order.said, "away")
        case People():
            return _from_now_on(unit, contact, text, order.said, "people")


def _from_now_on(unit: UnitOfWork, contact: Contact, text: Text, said: str, key: str) -> Event | None:
    words = unit.site.phrases.until_words()
    number, ends = split_until(said, words)
    local = written_at(unit, text).astimezone(unit.site.zone)
    until = moment_of(ends, words, local) if ends is not None else None
    understood = (number == "") if key == "away" else HOW_MANY.fullmatch(number) is not None
    if not understood or (ends is not None and until is None):
        reply_with(unit, contact, f"{key}-how", {})
        return None
    if until is not None and until <= unit.now:
        reply_late(unit, contact, text)
        return None
    return _said(unit, contact, text, float(number or 0), until.astimezone(UTC) if until is not None else None)


def _said(unit: UnitOfWork, contact: Contact, text: Text, people: float, until: datetime | None) -> Event | None:
    event = say_people(unit, people, until, by=contact, text=text)
    at = When(until, unit.now, unit.site.zone) if until is not None else None
    reply_with(unit, contact, "people" if people else "away", {"people": f"{people:g}", "until": at})
    return event


def _back(unit: UnitOfWork, contact: Contact, text: Text) -> Event | None:
    if presence_now(unit.tx, unit.now) is None:
        reply_with(unit, contact, "not-away", {})
        return None
    event = say_people(unit, None, None, by=contact, text=text)
    reply_with(unit, contact, "back", {})
    return event
