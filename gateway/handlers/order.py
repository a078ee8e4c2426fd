"""A contact's text → what it orders, done, and one short answer.

Only contacts with `may_ask` are obeyed; anybody else's words are kept and get no answer. An automatic reply can start no
loop: what is not understood is answered at most once an hour, and a phone that talks like a machine is not answered at all
(what it orders is done). Answers go to whoever asked and to nobody else.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from typing import Any

from gateway.facts import Event, EventKind, Text
from gateway.facts.states.people import RecentTexts
from gateway.handlers.adoption import adopt_by_text, asks_of_a_number
from gateway.handlers.alarm_answers import answer_alarms
from gateway.handlers.answer_questions import answer_question
from gateway.handlers.dry_taps import obey_of_dry_taps, report_dry, report_safe
from gateway.handlers.enqueue import reply, reply_with
from gateway.handlers.errand_orders import confirm_by_text, order_by_text
from gateway.handlers.event_followers import record_event
from gateway.handlers.float_ends import end_by_word
from gateway.handlers.inflow_orders import keep_inflow
from gateway.handlers.late_orders import reply_late, written_at, written_before_alarm_of
from gateway.handlers.pauses import pause_tank
from gateway.handlers.presence_orders import obey_of_presence
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.handlers.walk import begin_walk
from gateway.handlers.watch_orders import watch_by_text
from gateway.orders import (
    Adopt,
    Ask,
    AskDry,
    Away,
    Back,
    Dry,
    Inflow,
    Next,
    No,
    Note,
    Ok,
    Order,
    Over,
    People,
    Safe,
    Tanks,
    Unknown,
    Walk,
    Watch,
    Week,
    Words,
    Work,
    Yes,
    folded,
    heard,
    like_a_machine,
    parse,
)
from gateway.phrases.phrasebook import When
from gateway.settings.people_tables import Contact
from gateway.status.alarms_listed import level_says
from gateway.status.dry_taps import has_further_step

WALK_WAIT = timedelta(minutes=10)


def obey(unit: UnitOfWork, contact: Contact, text: Text) -> Event | None:
    """Does what the text orders. The event that came of it, if one did."""
    order = order_of(unit, contact, text)
    if order is None:
        return None
    if unit.imported:
        return _of_the_past(unit, contact, text, order)
    unit = _without_loops(unit, contact, text, order)
    match order:
        case Ok() | No():
            return answer_alarms(unit, contact, text, order)
        case Tanks() | Week() | Words() | Unknown():
            answer_question(unit, contact, text, order)
            return None
        case Dry() | AskDry() | Next() | Safe():
            return obey_of_dry_taps(unit, contact, text, order)
        case Work():
            return _begin_work(unit, contact, text, order)
        case Over():
            return _end_alarms(unit, contact, text, order)
        case Note():
            return _keep_note(unit, contact, text, order)
        case Ask() | Yes() | Walk():
            return _order_of_a_box(unit, contact, text, order)
        case Inflow():
            return keep_inflow(unit, contact, text, runs=order.runs)
        case Away() | People() | Back() | Adopt() | Watch():
            return _order_of_people(unit, contact, text, order)


def _of_the_past(unit: UnitOfWork, contact: Contact, text: Text, order: Order) -> Event | None:
    """An old text that is imported: what it tells of the house is history like any; what it asked for is done or forgotten long since."""
    match order:
        case Dry():
            return report_dry(unit, contact, text)
        case Safe():
            return report_safe(unit, contact, text)
        case Note(text=said) if said:
            return _record(unit, contact, text, "note", {"who": contact.name, "said": said})
        case _:
            return None


def _order_of_a_box(unit: UnitOfWork, contact: Contact, text: Text, order: Ask | Yes | Walk) -> Event | None:
    match order:
        case Ask():
            return order_by_text(unit, contact, text, order.what)
        case Yes():
            confirm = adopt_by_text if asks_of_a_number(unit, order.code) else confirm_by_text
            return confirm(unit, contact, text, order.code)
        case Walk():
            _begin_walk(unit, contact, order)
    return None


def _order_of_people(
    unit: UnitOfWork, contact: Contact, text: Text, order: Away | People | Back | Adopt | Watch
) -> Event | None:
    """Who draws water, who is called first, whose a number is."""
    match order:
        case Away() | People() | Back():
            return obey_of_presence(unit, contact, text, order)
        case Adopt():
            return adopt_by_text(unit, contact, text, order.said)
        case Watch():
            return watch_by_text(unit, contact, text, order.said)


def _begin_walk(unit: UnitOfWork, contact: Contact, order: Walk) -> None:
    """The first instruction is the answer; a tank that is none, or has no float, is said."""
    meant = [tank for tank in unit.site.tanks.values() if order.tank in (folded(tank.id), folded(tank.name))]
    known = bool(meant) or not order.tank
    walk = begin_walk(unit, meant[0] if meant else None, contact, WALK_WAIT, by_text=True) if known else None
    if walk is None:
        reply_with(unit, contact, "walk-none", {})


def order_of(unit: UnitOfWork, contact: Contact, text: Text) -> Order | None:
    """What the text says; None from a contact who may not ask."""
    if not contact.may_ask:
        return None
    tanks = [(tank.id, tank.name) for tank in unit.site.tanks.values()]
    controllers = [(controller.id, controller.name) for controller in unit.site.controllers.values()]
    phrases = unit.site.phrases
    return parse(text.text, phrases.order_words(), tanks, controllers, phrases.until_words())


def _without_loops(unit: UnitOfWork, contact: Contact, text: Text, order: Order) -> UnitOfWork:
    """The same moment, without answers where the contact's phone talks like a machine; on record when that begins. The steps after dry taps
    have an end, so that no loop comes of them."""
    if isinstance(order, Next) and has_further_step(unit.tx, unit.site):
        return unit
    before = unit.tx.state(RecentTexts, contact.id) or RecentTexts()
    talk = heard(before, text.text, unit.now)
    unit.tx.set_state(talk, contact.id)
    if not like_a_machine(talk):
        return unit
    if not like_a_machine(before):
        _record(unit, contact, text, "loop-stopped", {"who": contact.name})
    return replace(unit, unanswered=True)


def _begin_work(unit: UnitOfWork, contact: Contact, text: Text, order: Work) -> Event | None:
    tank = unit.site.tanks.get(order.tank or "")
    if tank is None or order.duration is None:  # not said, or not understood: the reply shows how
        example = next(iter(unit.site.tanks.values()), None)
        reply_with(unit, contact, "work-how", {"tank": example.id if example else "house"})
        return None
    length = written_at(unit, text) + order.duration - unit.now
    if length <= timedelta(0):
        reply_late(unit, contact, text)
        return None
    until = pause_tank(unit, tank, length, by=contact, text=text.text)
    reply_with(unit, contact, "work", {"tank": tank.name, "until": When(until, unit.now, unit.site.zone)})
    return None


def _end_alarms(unit: UnitOfWork, contact: Contact, text: Text, order: Over) -> Event | None:
    """`OVER house`: for a box that never says so, or whose text of it was lost."""
    tank = unit.site.tanks.get(order.tank or "")
    if tank is None:
        example = next(iter(unit.site.tanks.values()), None)
        reply_with(unit, contact, "over-how", {"tank": example.id if example else "house"})
        return None
    if written_before_alarm_of(unit, text, tank):
        reply_late(unit, contact, text)
        return None
    ended = end_by_word(unit, tank, by=contact, text=text.text)
    stands = level_says(unit.tx, unit.site, unit.now, tank.id, contact.line)
    if stands is not None:
        reply(unit, contact, stands)
    else:
        reply_with(unit, contact, "over" if ended else "over-nothing", {"tank": tank.name})
    return ended[0] if ended else None


def _keep_note(unit: UnitOfWork, contact: Contact, text: Text, order: Note) -> Event | None:
    if not order.text:
        reply_with(unit, contact, "note-how", {})
        return None
    event = _record(unit, contact, text, "note", {"who": contact.name, "said": order.text})
    reply_with(unit, contact, "note", {})
    return event


def _record(unit: UnitOfWork, contact: Contact, text: Text, kind: EventKind, detail: Mapping[str, Any]) -> Event:
    return record_event(unit, unit.event(kind, detail, at=text.at, text=text.text, sender=contact.number))
