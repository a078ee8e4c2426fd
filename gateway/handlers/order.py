"""A contact's text → what it orders, done, and one short answer.

Only contacts with `may_ask` are obeyed; anybody else's words are kept and get no answer. An automatic reply can start no
loop: what is not understood is answered at most once an hour, and a phone that talks like a machine is not answered at all
(what it orders is done). Answers go to whoever asked and to nobody else.
"""

from dataclasses import replace
from datetime import timedelta
from typing import Any

from gateway.facts import Event, EventKind, Text
from gateway.facts.moments import time_of
from gateway.handlers import callouts
from gateway.handlers.enqueue import in_pieces, reply
from gateway.handlers.record import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.handlers.work import pause_tank
from gateway.orders import (
    Dry,
    Note,
    Ok,
    Order,
    Talk,
    Tanks,
    Unknown,
    Week,
    Words,
    Work,
    heard,
    like_a_machine,
    may_answer,
    parse,
)
from gateway.phrases.phrasebook import When
from gateway.settings.models import Contact, Tank
from gateway.status import summary

DRY_TOLD_ONCE_IN = timedelta(hours=1)
"""A second report within the hour is kept and answered; the others know already."""


def obey(unit: UnitOfWork, contact: Contact, text: Text) -> Event | None:
    """Does what the text orders. The event that came of it, if one did."""
    order = order_of(unit, contact, text)
    if order is None:
        return None
    if unit.imported:
        return _dry(unit, contact, text) if isinstance(order, Dry) else None
    unit = _guarded(unit, contact, text)
    match order:
        case Ok():
            return callouts.take(unit, contact, text)
        case Tanks():
            _reply(unit, contact, summary.tanks_line(unit.tx, unit.site, unit.now, contact.line), whole=True)
        case Week():
            _reply(unit, contact, summary.week_line(unit.tx, unit.site, unit.now, contact.line))
        case Words():
            _say(unit, contact, "words", {"list": _words(unit)})
        case Dry():
            return _answer_dry(unit, contact, text)
        case Work():
            return _work(unit, contact, text, order)
        case Note():
            return _note(unit, contact, text, order)
        case Unknown():
            _unknown(unit, contact, text)
    return None


def _guarded(unit: UnitOfWork, contact: Contact, text: Text) -> UnitOfWork:
    """The same moment, without answers where the contact's phone talks like a machine; on record when that begins."""
    key = f"talk:{contact.id}"
    before = Talk.from_json(unit.tx.mark(key))
    talk = heard(before, text.text, unit.now)
    unit.tx.set_mark(key, talk.as_json())
    if not like_a_machine(talk):
        return unit
    if not like_a_machine(before):
        _event(unit, contact, text, "loop-stopped", None, {"who": contact.name})
    return replace(unit, unanswered=True)


def order_of(unit: UnitOfWork, contact: Contact, text: Text) -> Order | None:
    """What the text says; None from a contact who may not ask."""
    if not contact.may_ask:
        return None
    tanks = [(tank.id, tank.name) for tank in unit.site.tanks.values()]
    return parse(text.text, unit.site.phrases.order_words(), tanks)


def _answer_dry(unit: UnitOfWork, contact: Contact, text: Text) -> Event:
    event = _dry(unit, contact, text)
    _say(unit, contact, "dry" if event.tank else "dry-no-tank", {})
    return event


def _dry(unit: UnitOfWork, contact: Contact, text: Text) -> Event:
    tank = unit.site.house_tank()
    kind: EventKind = "ran-dry" if tank else "note"
    last = unit.tx.last_event((kind,), tank=tank.id) if tank else None
    told = last is not None and abs(unit.now - last.heard_at) < DRY_TOLD_ONCE_IN
    return _event(unit, contact, text, kind, tank, {"who": contact.name}, tell=not told)


def _work(unit: UnitOfWork, contact: Contact, text: Text, order: Work) -> Event | None:
    tank = unit.site.tanks.get(order.tank or "")
    if tank is None or order.duration is None:
        example = next(iter(unit.site.tanks.values()), None)
        _say(unit, contact, "work-how", {"tank": example.id if example else "house"})
        return None
    until = pause_tank(unit, tank, order.duration, by=contact, text=text.text)
    _say(unit, contact, "work", {"tank": tank.name, "until": When(until, unit.now, unit.site.zone)})
    return None


def _note(unit: UnitOfWork, contact: Contact, text: Text, order: Note) -> Event | None:
    if not order.text:
        _say(unit, contact, "note-how", {})
        return None
    event = _event(unit, contact, text, "note", None, {"who": contact.name, "said": order.text})
    _say(unit, contact, "note", {})
    return event


def _unknown(unit: UnitOfWork, contact: Contact, text: Text) -> None:
    key = f"not-understood:{contact.id}"
    if not may_answer(time_of(unit.tx.mark(key)), unit.now):
        return
    unit.tx.set_mark(key, unit.now.isoformat())
    _say(unit, contact, "unknown", {"list": _words(unit)})


def _event(
    unit: UnitOfWork,
    contact: Contact,
    text: Text,
    kind: EventKind,
    tank: Tank | None,
    detail: dict[str, Any],
    *,
    tell: bool = True,
) -> Event:
    return record_event(
        unit,
        Event(
            kind=kind,
            at=text.at,
            heard_at=unit.now,
            known_at=text.at if unit.imported else unit.now,
            tank=tank.id if tank else None,
            text=text.text,
            sender=contact.number,
            detail=detail,
        ),
        tell=tell,
    )


def _say(unit: UnitOfWork, contact: Contact, key: str, values: dict[str, Any]) -> None:
    segments = unit.site.settings.limits.segments
    _reply(unit, contact, unit.site.phrases.reply(key, values, segments=segments, line=contact.line))


def _reply(unit: UnitOfWork, contact: Contact, said: str, *, whole: bool = False) -> None:
    """One answer; with `whole` in as many messages as it takes."""
    pieces = in_pieces(said, unit.site.settings.limits.segments) if whole else [said]
    for piece in pieces:
        reply(unit, contact, piece)


def _words(unit: UnitOfWork) -> str:
    return ", ".join(words[0] for words in unit.site.phrases.order_words().values())
