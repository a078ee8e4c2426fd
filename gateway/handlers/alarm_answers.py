"""OK and NO: a contact has what they were told of, or it goes to the next at once."""

from gateway.alarms.matters import most_urgent_first
from gateway.facts import Event, Text
from gateway.facts.alarms import Alarm
from gateway.handlers.alarms import decline_alarms
from gateway.handlers.enqueue import reply, reply_with
from gateway.handlers.event_followers import record_event
from gateway.handlers.late_orders import reply_late, written_at, written_before
from gateway.handlers.message_times import note_answered
from gateway.handlers.tell_alarm import folded_in, mark_answered, tie
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.handlers.watch import answer_watch
from gateway.orders import No, Ok
from gateway.settings.people_tables import Contact
from gateway.status.alarm_rounds import alarms_said, told_by
from gateway.status.event_wording import how_to_answer


def answer_alarms(unit: UnitOfWork, contact: Contact, text: Text, order: Ok | No) -> Event | None:
    """Of the watch that they were asked to have, where it answers that alone; else of what stands."""
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
        known = tank if tank in unit.site.tanks else None
        taking = unit.event("taken", detail, at=text.at, tank=known, text=text.text, sender=contact.number)
        event = record_event(unit, taking)
        tested = unit.site.phrases.sentence("mobile", "tested") if test_answered else None
        values = {"matters": _with_their_tanks(unit, taken, contact), "tested": tested}
        message = reply_with(unit, contact, "took", values)
        if message is not None:
            tie(unit, message, taken, "took")
            for alarm in taken:
                mark_answered(unit, alarm, contact.id)
        return event
    untaken = [alarm for alarm in told or standing if alarm.state != "taken"]
    if test_answered and not told and about is None:
        reply_with(unit, contact, "drill", {})  # it can mean nothing else
    elif untaken and all(written_before(unit, text, alarm.raised_at) for alarm in untaken):
        reply_late(unit, contact, text, _with_their_tanks(unit, untaken, contact))
    else:
        _reply_why_not(unit, contact, told, standing, test_answered=test_answered)
    return None


def _with_their_tanks(unit: UnitOfWork, alarms: list[Alarm], contact: Contact, *, nobodys: bool = False) -> str:
    """The alarms, each followed by the tanks that are told with it: who answers of the cause answers of those too. `nobodys`: not what
    somebody had before."""
    named: list[Alarm] = []
    for alarm in alarms:
        theirs = (other for other in folded_in(unit, alarm) if other.subject == "tanks")
        named += [alarm, *(other for other in theirs if not (nobodys and other.taken_by is not None))]
    return alarms_said(unit.site, named, contact.line)


def _reply_why_not(
    unit: UnitOfWork, contact: Contact, told: list[Alarm], standing: list[Alarm], *, test_answered: bool
) -> None:
    """Somebody has it already, it was not told to this contact, or nothing is open."""
    open_now = [alarm for alarm in standing if alarm.priority == "urgent" and alarm.state != "taken"]
    had = next((alarm for alarm in (standing if not open_now else told) if alarm.state == "taken"), None)
    if had is not None:
        _reply_who_has_it(unit, contact, had.taken_by, standing)
    elif open_now:
        reply_with(unit, contact, "not-told", {"matters": _with_their_tanks(unit, open_now, contact)})
    else:
        reply_with(unit, contact, "drill" if test_answered else "nothing", {})


def _reply_who_has_it(unit: UnitOfWork, contact: Contact, taker: str | None, standing: list[Alarm]) -> None:
    """All that the taker has; they may be who asks."""
    theirs = [alarm for alarm in standing if alarm.taken_by == taker]
    values = {"who": unit.site.contact_name(taker), "matters": _with_their_tanks(unit, theirs, contact)}
    reply_with(unit, contact, "took" if taker == contact.id else "already", values)


def _decline_alarms(unit: UnitOfWork, contact: Contact, about: str | None) -> None:
    """`NO`: what this contact has, or was asked to take, goes to the next at once; where nobody is left, that is said."""
    standing = _standing_alarms(unit, about)
    asked = [
        alarm
        for alarm in standing
        if (alarm.state == "taken" and alarm.taken_by == contact.id)
        or (alarm.is_nobodys and alarm.priority == "urgent" and told_by(unit.tx, alarm, contact.id, unit.now))
    ]
    if not asked:
        had = next((alarm for alarm in standing if alarm.state == "taken"), None)
        if had is not None:
            _reply_who_has_it(unit, contact, had.taken_by, standing)
        else:
            reply_with(unit, contact, "nothing", {})
        return
    unanswered = decline_alarms(unit, contact.id, asked)
    for event in unanswered:
        record_event(unit, event)
    left = {alarm.id for alarm in unit.tx.alarms() if alarm.state == "unanswered"}
    passed = [alarm for alarm in asked if alarm.id not in left]
    if passed:
        reply_with(unit, contact, "passed", {"matters": _with_their_tanks(unit, passed, contact)})
    elif not any(contact.id in event.detail["told"] for event in unanswered):  # else they hear it just now
        values = {
            "matters": _with_their_tanks(unit, asked, contact, nobodys=True),
            "reply": how_to_answer(unit.site, contact),
        }
        said = unit.site.phrases.message("unanswered", values, segments=unit.site.segments, line=contact.line)
        reply(unit, contact, said)


def _standing_alarms(unit: UnitOfWork, about: str | None) -> list[Alarm]:
    """What stands by itself, the most urgent first; `about` one tank or controller only."""
    alarms = (alarm for alarm in unit.tx.alarms() if alarm.stands_by_itself)
    return sorted((alarm for alarm in alarms if about is None or alarm.about == about), key=most_urgent_first)


def _told_by_then(unit: UnitOfWork, contact: Contact, text: Text, alarms: list[Alarm]) -> list[Alarm]:
    """What the contact was told when they wrote."""
    return [alarm for alarm in alarms if told_by(unit.tx, alarm, contact.id, written_at(unit, text))]
