"""A contact's text → what it orders, done, and one short answer.

Only contacts with `may_ask` are obeyed; anybody else's words are kept and get no answer. An automatic reply can start no
loop: what is not understood is answered at most once an hour, and a phone that talks like a machine is not answered at all
(what it orders is done). Answers go to whoever asked and to nobody else.
"""

from dataclasses import replace
from datetime import timedelta
from typing import Any

from gateway.facts import Event, EventKind, Text
from gateway.facts.states import NotUnderstood, RecentTexts
from gateway.handlers.enqueue import in_pieces, reply
from gateway.handlers.errand_orders import confirm_by_text, order_by_text
from gateway.handlers.event_followers import record_event
from gateway.handlers.float_ends import end_by_word
from gateway.handlers.late_orders import written_at, written_before, written_before_alarm_of
from gateway.handlers.message_times import note_answered
from gateway.handlers.pauses import pause_tank
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.handlers.walk import begin_walk
from gateway.orders import (
    Ask,
    Dry,
    Note,
    Ok,
    Order,
    Over,
    Tanks,
    Unknown,
    Walk,
    Week,
    Words,
    Work,
    Yes,
    folded,
    heard,
    like_a_machine,
    may_answer,
    parse,
)
from gateway.phrases.phrasebook import When
from gateway.settings.models import Contact, Tank
from gateway.status import summary
from gateway.status.call_outs import alarms_said, open_call_outs

WALK_WAIT = timedelta(minutes=10)
DRY_TOLD_ONCE_IN = timedelta(hours=1)
"""A second report within the hour is kept and answered; the others know already."""


def obey(unit: UnitOfWork, contact: Contact, text: Text) -> Event | None:
    """Does what the text orders. The event that came of it, if one did."""
    order = order_of(unit, contact, text)
    if order is None:
        return None
    if unit.imported:
        return _record_dry(unit, contact, text) if isinstance(order, Dry) else None
    unit = _without_loops(unit, contact, text)
    match order:
        case Ok():
            return _take_call_outs(unit, contact, text)
        case Tanks() | Week() | Words() | Unknown():
            _answer_question(unit, contact, text, order)
            return None
        case Dry():
            return _report_dry(unit, contact, text)
        case Work():
            return _begin_work(unit, contact, text, order)
        case Over():
            return _end_alarms(unit, contact, text, order)
        case Note():
            return _keep_note(unit, contact, text, order)
        case Ask() | Yes() | Walk():
            return _order_of_a_box(unit, contact, text, order)


def _answer_question(unit: UnitOfWork, contact: Contact, text: Text, order: Tanks | Week | Words | Unknown) -> None:
    """What only asks, and what was not understood."""
    match order:
        case Tanks():
            _reply(unit, contact, summary.tanks_line(unit.tx, unit.site, unit.now, contact.line), whole=True)
        case Week():
            _reply(unit, contact, summary.week_line(unit.tx, unit.site, unit.now, contact.line))
        case Words():
            _reply_with(unit, contact, "words", {"list": _order_words(unit)})
        case Unknown():
            _reply_unknown(unit, contact, text)


def _order_of_a_box(unit: UnitOfWork, contact: Contact, text: Text, order: Ask | Yes | Walk) -> Event | None:
    match order:
        case Ask():
            return order_by_text(unit, contact, text, order.what)
        case Yes():
            return confirm_by_text(unit, contact, text, order.code)
        case Walk():
            _begin_walk(unit, contact, order)
    return None


def _begin_walk(unit: UnitOfWork, contact: Contact, order: Walk) -> None:
    """The first instruction is the answer; a tank that is none, or has no float, is said."""
    meant = [tank for tank in unit.site.tanks.values() if order.tank in (folded(tank.id), folded(tank.name))]
    known = bool(meant) or not order.tank
    walk = begin_walk(unit, meant[0] if meant else None, contact, WALK_WAIT, by_text=True) if known else None
    if walk is None:
        _reply_with(unit, contact, "walk-none", {})


def order_of(unit: UnitOfWork, contact: Contact, text: Text) -> Order | None:
    """What the text says; None from a contact who may not ask."""
    if not contact.may_ask:
        return None
    tanks = [(tank.id, tank.name) for tank in unit.site.tanks.values()]
    return parse(text.text, unit.site.phrases.order_words(), tanks)


def _without_loops(unit: UnitOfWork, contact: Contact, text: Text) -> UnitOfWork:
    """The same moment, without answers where the contact's phone talks like a machine; on record when that begins."""
    before = unit.tx.state(RecentTexts, contact.id) or RecentTexts()
    talk = heard(before, text.text, unit.now)
    unit.tx.set_state(talk, contact.id)
    if not like_a_machine(talk):
        return unit
    if not like_a_machine(before):
        _record(unit, contact, text, "loop-stopped", None, {"who": contact.name})
    return replace(unit, unanswered=True)


def _take_call_outs(unit: UnitOfWork, contact: Contact, text: Text) -> Event | None:
    """`OK`: this contact has every open call-out now; the others learn who (the table in `event_followers.py`)."""
    test_answered = note_answered(unit, contact.id)  # a drill's or a walk's, whatever else the word does
    open_now = [call_out for _, call_out in open_call_outs(unit.tx)]
    untaken = [call_out for call_out in open_now if call_out.state != "taken"]
    free = [call_out for call_out in untaken if not written_before(unit, text, call_out.opened_at)]
    if untaken and not free:
        _reply_late(unit, contact, text, alarms_said(unit.site, untaken, contact.line))
        return None
    if free:
        alarms = [alarm for call_out in free for alarm in call_out.alarms]
        tank = next((alarm.about for alarm in alarms if alarm.about in unit.site.tanks), None)
        detail = {"who": contact.name, "contact": contact.id, "matters": [alarm.key for alarm in alarms]}
        detail["written_at"] = written_at(unit, text).isoformat()
        event = _record(unit, contact, text, "taken", unit.site.tanks.get(tank or ""), detail)
        _reply_with(unit, contact, "took", {"matters": alarms_said(unit.site, free, contact.line)})
        return event
    if open_now:
        taker = open_now[0].taken_by
        values = {"who": unit.site.contact_name(taker), "matters": alarms_said(unit.site, open_now, contact.line)}
        _reply_with(unit, contact, "took" if taker == contact.id else "already", values)
    else:
        _reply_with(unit, contact, "drill" if test_answered else "nothing", {})
    return None


def _report_dry(unit: UnitOfWork, contact: Contact, text: Text) -> Event:
    event = _record_dry(unit, contact, text)
    _reply_with(unit, contact, "dry" if event.tank else "dry-no-tank", {})
    return event


def _record_dry(unit: UnitOfWork, contact: Contact, text: Text) -> Event:
    """`ran-dry` of the tank that feeds the house; a note where no tank is configured."""
    tank = unit.site.house_tank()
    kind: EventKind = "ran-dry" if tank else "note"
    last = unit.tx.last_event((kind,), tank=tank.id) if tank else None
    told = last is not None and abs(unit.now - last.heard_at) < DRY_TOLD_ONCE_IN
    return _record(unit, contact, text, kind, tank, {"who": contact.name}, tell=not told)


def _begin_work(unit: UnitOfWork, contact: Contact, text: Text, order: Work) -> Event | None:
    tank = unit.site.tanks.get(order.tank or "")
    if tank is None or order.duration is None:  # not said, or not understood: the reply shows how
        example = next(iter(unit.site.tanks.values()), None)
        _reply_with(unit, contact, "work-how", {"tank": example.id if example else "house"})
        return None
    length = written_at(unit, text) + order.duration - unit.now
    if length <= timedelta(0):
        _reply_late(unit, contact, text)
        return None
    until = pause_tank(unit, tank, length, by=contact, text=text.text)
    _reply_with(unit, contact, "work", {"tank": tank.name, "until": When(until, unit.now, unit.site.zone)})
    return None


def _end_alarms(unit: UnitOfWork, contact: Contact, text: Text, order: Over) -> Event | None:
    """`OVER house`: for a box that never says so, or whose text of it was lost."""
    tank = unit.site.tanks.get(order.tank or "")
    if tank is None:
        example = next(iter(unit.site.tanks.values()), None)
        _reply_with(unit, contact, "over-how", {"tank": example.id if example else "house"})
        return None
    if written_before_alarm_of(unit, text, tank):
        _reply_late(unit, contact, text)
        return None
    ended = end_by_word(unit, tank, by=contact, text=text.text)
    _reply_with(unit, contact, "over" if ended else "over-nothing", {"tank": tank.name})
    return ended[0] if ended else None


def _keep_note(unit: UnitOfWork, contact: Contact, text: Text, order: Note) -> Event | None:
    if not order.text:
        _reply_with(unit, contact, "note-how", {})
        return None
    event = _record(unit, contact, text, "note", None, {"who": contact.name, "said": order.text})
    _reply_with(unit, contact, "note", {})
    return event


def _reply_unknown(unit: UnitOfWork, contact: Contact, text: Text) -> None:
    # once an hour: two phones that answer each other would go on for ever, each text at a price (fault 40)
    last = unit.tx.state(NotUnderstood, contact.id)
    if not may_answer(last.answered_at if last is not None else None, unit.now):
        return
    unit.tx.set_state(NotUnderstood(answered_at=unit.now), contact.id)
    _reply_with(unit, contact, "unknown", {"list": _order_words(unit)})


def _record(
    unit: UnitOfWork,
    contact: Contact,
    text: Text,
    kind: EventKind,
    tank: Tank | None,
    detail: dict[str, Any],
    *,
    tell: bool = True,
) -> Event:
    tank_id = tank.id if tank else None
    event = unit.event(kind, detail, at=text.at, tank=tank_id, text=text.text, sender=contact.number)
    return record_event(unit, event, tell=tell)


def _reply_late(unit: UnitOfWork, contact: Contact, text: Text, matters: str | None = None) -> None:
    """It was written before what stands now, or is over by now: nothing is done, and its writer learns that."""
    _reply_with(unit, contact, "late", {"since": When(text.at, unit.now, unit.site.zone), "matters": matters})


def _reply_with(unit: UnitOfWork, contact: Contact, key: str, values: dict[str, Any]) -> None:
    segments = unit.site.settings.limits.segments
    _reply(unit, contact, unit.site.phrases.reply(key, values, segments=segments, line=contact.line))


def _reply(unit: UnitOfWork, contact: Contact, text: str, *, whole: bool = False) -> None:
    """One reply; with `whole` in as many messages as it takes."""
    pieces = in_pieces(text, unit.site.settings.limits.segments) if whole else [text]
    for piece in pieces:
        reply(unit, contact, piece)


def _order_words(unit: UnitOfWork) -> str:
    return ", ".join(words[0] for key, words in unit.site.phrases.order_words().items() if key != "yes")
