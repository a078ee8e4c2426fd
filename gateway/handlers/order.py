"""A contact's text → what it orders, done, and one short answer.

Only contacts with `may_ask` are obeyed; anybody else's words are kept and get no answer. An automatic reply can start no
loop: what is not understood is answered at most once an hour, and a phone that talks like a machine is not answered at all
(what it orders is done). Answers go to whoever asked and to nobody else.
"""

from dataclasses import replace
from datetime import timedelta
from typing import Any

from gateway.alarms.matters import most_urgent_first
from gateway.facts import Event, EventKind, Text
from gateway.facts.alarms import Alarm
from gateway.facts.states import RecentTexts
from gateway.handlers.adoption import adopt_by_text, asks_of_a_number
from gateway.handlers.alarms import decline_alarms
from gateway.handlers.answer_questions import answer_question
from gateway.handlers.dry_taps import obey_of_dry_taps, report_dry, report_safe
from gateway.handlers.enqueue import reply_with
from gateway.handlers.errand_orders import confirm_by_text, order_by_text
from gateway.handlers.event_followers import record_event
from gateway.handlers.float_ends import end_by_word
from gateway.handlers.inflow_orders import keep_inflow
from gateway.handlers.late_orders import written_at, written_before, written_before_alarm_of
from gateway.handlers.message_times import note_answered
from gateway.handlers.pauses import pause_tank
from gateway.handlers.presence_orders import obey_of_presence
from gateway.handlers.tell_alarm import mark_answered, tie
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.handlers.walk import begin_walk
from gateway.handlers.watch import answer_watch
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
from gateway.settings.models import Contact, Tank
from gateway.status.alarm_rounds import alarms_said, told_by

WALK_WAIT = timedelta(minutes=10)


def obey(unit: UnitOfWork, contact: Contact, text: Text) -> Event | None:
    """Does what the text orders. The event that came of it, if one did."""
    order = order_of(unit, contact, text)
    if order is None:
        return None
    if unit.imported:
        return _of_the_past(unit, contact, text, order)
    unit = _without_loops(unit, contact, text)
    match order:
        case Ok() | No():
            return _answer_alarms(unit, contact, text, order)
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
            return _record(unit, contact, text, "note", None, {"who": contact.name, "said": said})
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


def _answer_alarms(unit: UnitOfWork, contact: Contact, text: Text, order: Ok | No) -> Event | None:
    standing = _standing_alarms(unit, order.about)
    watch = answer_watch(unit, contact, text, yes=isinstance(order, Ok)) if order.about is None else None
    if watch is not None and not any(told_by(unit.tx, alarm, contact.id, written_at(unit, text)) for alarm in standing):
        return watch  # it answered that alone
    if isinstance(order, Ok):
        return _take_alarms(unit, contact, text, order.about)
    _decline_alarms(unit, contact, order.about)
    return None


def _take_alarms(unit: UnitOfWork, contact: Contact, text: Text, about: str | None) -> Event | None:
    """`OK`: this contact has what they were told of by then, and nothing else; the others learn who (`event_followers.py`)."""
    test_answered = note_answered(unit, contact.id)  # a drill's or a walk's, whatever else the word does
    standing = _standing_alarms(unit, about)
    told = _told_by_then(unit, contact, text, standing)
    # who names a tank knows of it, by whatever way
    taken = [alarm for alarm in (standing if about is not None else told) if alarm.is_nobodys]
    if taken:
        tank = next((alarm.tank for alarm in taken if alarm.tank is not None), None)
        matters, ids = [alarm.key for alarm in taken], [alarm.id for alarm in taken]
        detail = {"who": contact.name, "contact": contact.id, "matters": matters, "alarms": ids}
        event = _record(unit, contact, text, "taken", unit.site.tanks.get(tank or ""), detail)
        message = reply_with(unit, contact, "took", {"matters": alarms_said(unit.site, taken, contact.line)})
        if message is not None:
            tie(unit, message, taken, "took")
            for alarm in taken:
                mark_answered(unit, alarm, contact.id)
        return event
    untaken = [alarm for alarm in told or standing if alarm.state != "taken"]
    if untaken and all(written_before(unit, text, alarm.raised_at) for alarm in untaken):
        _reply_late(unit, contact, text, alarms_said(unit.site, untaken, contact.line))
    else:
        _reply_why_not(unit, contact, told, standing, test_answered=test_answered)
    return None


def _reply_why_not(
    unit: UnitOfWork, contact: Contact, told: list[Alarm], standing: list[Alarm], *, test_answered: bool
) -> None:
    """Somebody has it already, it was not told to this contact, or nothing is open."""
    open_now = [alarm for alarm in standing if alarm.priority == "urgent" and alarm.state != "taken"]
    had = next((alarm for alarm in (standing if not open_now else told) if alarm.state == "taken"), None)
    theirs = [alarm for alarm in standing if had is not None and alarm.taken_by == had.taken_by]
    if had is not None:
        values = {"who": unit.site.contact_name(had.taken_by), "matters": alarms_said(unit.site, theirs, contact.line)}
        reply_with(unit, contact, "took" if had.taken_by == contact.id else "already", values)
    elif open_now:
        reply_with(unit, contact, "not-told", {"matters": alarms_said(unit.site, open_now, contact.line)})
    else:
        reply_with(unit, contact, "drill" if test_answered else "nothing", {})


def _decline_alarms(unit: UnitOfWork, contact: Contact, about: str | None) -> None:
    """`NO`: what this contact has, or was asked to take, goes to the next at once."""
    standing = _standing_alarms(unit, about)
    asked = [
        alarm
        for alarm in standing
        if (alarm.state == "taken" and alarm.taken_by == contact.id)
        or (alarm.state == "open" and alarm.priority == "urgent" and told_by(unit.tx, alarm, contact.id, unit.now))
    ]
    if not asked:
        reply_with(unit, contact, "nothing", {})
        return
    for unanswered in decline_alarms(unit, contact.id, asked):
        record_event(unit, unanswered)
    reply_with(unit, contact, "passed", {"matters": alarms_said(unit.site, asked, contact.line)})


def _standing_alarms(unit: UnitOfWork, about: str | None) -> list[Alarm]:
    """What stands by itself, the most urgent first; `about` one tank or controller only."""
    alarms = (alarm for alarm in unit.tx.alarms() if alarm.stands_by_itself)
    return sorted((alarm for alarm in alarms if about is None or alarm.about == about), key=most_urgent_first)


def _told_by_then(unit: UnitOfWork, contact: Contact, text: Text, alarms: list[Alarm]) -> list[Alarm]:
    """What the contact was told when they wrote."""
    return [alarm for alarm in alarms if told_by(unit.tx, alarm, contact.id, written_at(unit, text))]


def _begin_work(unit: UnitOfWork, contact: Contact, text: Text, order: Work) -> Event | None:
    tank = unit.site.tanks.get(order.tank or "")
    if tank is None or order.duration is None:  # not said, or not understood: the reply shows how
        example = next(iter(unit.site.tanks.values()), None)
        reply_with(unit, contact, "work-how", {"tank": example.id if example else "house"})
        return None
    length = written_at(unit, text) + order.duration - unit.now
    if length <= timedelta(0):
        _reply_late(unit, contact, text)
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
        _reply_late(unit, contact, text)
        return None
    ended = end_by_word(unit, tank, by=contact, text=text.text)
    reply_with(unit, contact, "over" if ended else "over-nothing", {"tank": tank.name})
    return ended[0] if ended else None


def _keep_note(unit: UnitOfWork, contact: Contact, text: Text, order: Note) -> Event | None:
    if not order.text:
        reply_with(unit, contact, "note-how", {})
        return None
    event = _record(unit, contact, text, "note", None, {"who": contact.name, "said": order.text})
    reply_with(unit, contact, "note", {})
    return event


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
    reply_with(unit, contact, "late", {"since": When(text.at, unit.now, unit.site.zone), "matters": matters})
