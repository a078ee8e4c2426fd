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
from gateway.flow import callouts, summary
from gateway.flow.happen import happen
from gateway.flow.house import Moment
from gateway.flow.pause import pause_tank
from gateway.flow.post import answer, in_pieces
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
from gateway.phrases.book import When
from gateway.settings.models import Contact, Tank

DRY_TOLD_ONCE_IN = timedelta(hours=1)
"""A second report within the hour is kept and answered; the others know already."""


def obey(moment: Moment, contact: Contact, text: Text) -> Event | None:
    """Does what the text orders. The event that came of it, if one did."""
    order = order_of(moment, contact, text)
    if order is None:
        return None
    if moment.imported:
        return _dry(moment, contact, text) if isinstance(order, Dry) else None
    moment = _guarded(moment, contact, text)
    match order:
        case Ok():
            return callouts.take(moment, contact, text)
        case Tanks():
            _answer(moment, contact, summary.tanks_line(moment, contact.line), whole=True)
        case Week():
            _answer(moment, contact, summary.week_line(moment, contact.line))
        case Words():
            _say(moment, contact, "words", {"list": _words(moment)})
        case Dry():
            return _answer_dry(moment, contact, text)
        case Work():
            return _work(moment, contact, text, order)
        case Note():
            return _note(moment, contact, text, order)
        case Unknown():
            _unknown(moment, contact, text)
    return None


def _guarded(moment: Moment, contact: Contact, text: Text) -> Moment:
    """The same moment, without answers where the contact's phone talks like a machine; on record when that begins."""
    key = f"talk:{contact.id}"
    before = Talk.from_json(moment.tx.mark(key))
    talk = heard(before, text.text, moment.now)
    moment.tx.set_mark(key, talk.as_json())
    if not like_a_machine(talk):
        return moment
    if not like_a_machine(before):
        _event(moment, contact, text, "loop-stopped", None, {"who": contact.name})
    return replace(moment, unanswered=True)


def order_of(moment: Moment, contact: Contact, text: Text) -> Order | None:
    """What the text says; None from a contact who may not ask."""
    if not contact.may_ask:
        return None
    tanks = [(tank.id, tank.name) for tank in moment.house.tanks.values()]
    return parse(text.text, moment.house.phrases.words(), tanks)


def _answer_dry(moment: Moment, contact: Contact, text: Text) -> Event:
    event = _dry(moment, contact, text)
    _say(moment, contact, "dry" if event.tank else "dry-no-tank", {})
    return event


def _dry(moment: Moment, contact: Contact, text: Text) -> Event:
    tank = moment.house.house_tank()
    kind: EventKind = "ran-dry" if tank else "note"
    last = moment.tx.last_event((kind,), tank=tank.id) if tank else None
    told = last is not None and abs(moment.now - last.heard_at) < DRY_TOLD_ONCE_IN
    return _event(moment, contact, text, kind, tank, {"who": contact.name}, tell=not told)


def _work(moment: Moment, contact: Contact, text: Text, order: Work) -> Event | None:
    tank = moment.house.tanks.get(order.tank or "")
    if tank is None or order.duration is None:
        example = next(iter(moment.house.tanks.values()), None)
        _say(moment, contact, "work-how", {"tank": example.id if example else "house"})
        return None
    until = pause_tank(moment, tank, order.duration, by=contact, text=text.text)
    _say(moment, contact, "work", {"tank": tank.name, "until": When(until, moment.now, moment.house.zone)})
    return None


def _note(moment: Moment, contact: Contact, text: Text, order: Note) -> Event | None:
    if not order.text:
        _say(moment, contact, "note-how", {})
        return None
    event = _event(moment, contact, text, "note", None, {"who": contact.name, "said": order.text})
    _say(moment, contact, "note", {})
    return event


def _unknown(moment: Moment, contact: Contact, text: Text) -> None:
    key = f"not-understood:{contact.id}"
    if not may_answer(time_of(moment.tx.mark(key)), moment.now):
        return
    moment.tx.set_mark(key, moment.now.isoformat())
    _say(moment, contact, "unknown", {"list": _words(moment)})


def _event(
    moment: Moment,
    contact: Contact,
    text: Text,
    kind: EventKind,
    tank: Tank | None,
    detail: dict[str, Any],
    *,
    tell: bool = True,
) -> Event:
    return happen(
        moment,
        Event(
            kind=kind,
            at=text.at,
            heard_at=moment.now,
            known_at=text.at if moment.imported else moment.now,
            tank=tank.id if tank else None,
            text=text.text,
            sender=contact.number,
            detail=detail,
        ),
        tell=tell,
    )


def _say(moment: Moment, contact: Contact, key: str, values: dict[str, Any]) -> None:
    segments = moment.house.settings.limits.segments
    _answer(moment, contact, moment.house.phrases.answer(key, values, segments=segments, line=contact.line))


def _answer(moment: Moment, contact: Contact, said: str, *, whole: bool = False) -> None:
    """One answer; with `whole` in as many messages as it takes."""
    pieces = in_pieces(said, moment.house.settings.limits.segments) if whole else [said]
    for piece in pieces:
        answer(moment, contact, piece)


def _words(moment: Moment) -> str:
    return ", ".join(words[0] for words in moment.house.phrases.words().values())
