"""A message that was held over night, or until the next day → its words as things stand when it leaves; or nothing, where they are over.

What was true at eleven at night ("dry about 02:00", "since 23:10") is not in the morning. An answer to somebody, the week's message and
what is passed on word for word stay as they were written.
"""

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import datetime

from gateway.facts import KINDS, Event, Message
from gateway.facts.alarms import Alarm, Telling, TellingWhy
from gateway.gsm.segments import measure_text
from gateway.handlers.event_followers import record_event
from gateway.handlers.tell_alarm import folded_in
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.settings.people_tables import Contact
from gateway.status.alarm_rounds import ASKS, KNOWS
from gateway.status.alarm_words import REMARKED, several_said, told_once_of, words_of
from gateway.status.event_wording import text_for, told_of

SAID_AGAIN: tuple[TellingWhy, ...] = ("next-turn", "unanswered", "reminder", "came-back")
"""That nobody has it, or that who has it is asked again: said once, and not once somebody has it."""


def as_it_stands_now(unit: UnitOfWork, message: Message) -> Message | None:
    """The message with today's words, stored. None: the alarms that it tells of are over or held by now, or a newer message says it: it is
    cancelled, on record."""
    contact = unit.site.contacts.get(message.contact or "")
    if message.state != "held" or contact is None or message.id is None:
        return message
    words = _words(unit, message, contact)
    if words is None:
        unit.tx.change_message(message.id, state="failed")
        record_event(unit, unit.event("cancelled", {"contact": contact.id, "message": message.id}))
        return None
    if words == message.text:
        return message
    newer = replace(message, text=words, segments=measure_text(words).segments)
    unit.tx.change_message(message.id, text=newer.text, segments=newer.segments)
    return newer


def _words(unit: UnitOfWork, message: Message, contact: Contact) -> str | None:
    tellings = unit.tx.tellings(message=message.id)
    event = unit.tx.event(message.event) if message.event is not None else None
    if not tellings:
        return message.text if event is None else _of_event(unit, message, event, contact)
    why = tellings[0].why
    if why == "over" and event is not None:
        return _said(unit, event, contact, unit.now)
    if why not in (*KNOWS, "unanswered"):
        return message.text
    alarms = _standing(unit, {telling.alarm for telling in tellings})
    if why in SAID_AGAIN:
        alarms = [alarm for alarm in alarms if alarm.state != "taken"]
    if why in (*SAID_AGAIN, "warned"):
        alarms = [alarm for alarm in alarms if not _is_said_later(unit, alarm, tellings[-1])]
    if not alarms:
        return None
    return message.text if why == "unanswered" else _of_alarms(unit, alarms, contact, why)


def _is_said_later(unit: UnitOfWork, alarm: Alarm, telling: Telling) -> bool:
    """Whether a newer message to the same contact tells of it."""
    return any(
        newer.contact == telling.contact
        and (newer.id or 0) > (telling.id or 0)
        and newer.message != telling.message
        and newer.why in ASKS
        and newer.state != "failed"
        for newer in unit.tx.tellings(alarm=alarm.number)
    )


def _of_event(unit: UnitOfWork, message: Message, event: Event, contact: Contact) -> str:
    """Where that event's own words are what the message says: another may only have been caused by it."""
    kind = KINDS[event.kind]
    if kind.word_for_word or _said(unit, event, contact, message.at) != message.text:
        return message.text
    return _said(unit, event, contact, unit.now)


def _said(unit: UnitOfWork, event: Event, contact: Contact, at: datetime) -> str:
    return text_for(unit.site, told_of(unit.tx, unit.site, at, event), contact, urgent=False)


def _standing(unit: UnitOfWork, ids: Collection[int]) -> list[Alarm]:
    """Those that there is still something to say of; what goes with another of them is said with that."""
    alarms = [
        alarm for alarm in unit.tx.alarms() if alarm.id in ids and not (alarm.is_reckoned or alarm.state == "held")
    ]
    heads = {alarm.id for alarm in alarms}
    return [alarm for alarm in alarms if alarm.folded_in not in heads]


def _of_alarms(unit: UnitOfWork, alarms: Sequence[Alarm], contact: Contact, why: TellingWhy) -> str:
    if len(alarms) > 1:
        remark = why if why in REMARKED else ""
        return " ".join(several_said(unit.tx, unit.site, unit.now, alarms, contact, why=remark))
    alarm = alarms[0]
    # what went with another alarm asks for no answer
    asked = replace(alarm, priority="soon") if why == "changed" else alarm
    told_once = told_once_of(unit.tx, unit.site, unit.now)
    return words_of(unit.tx, unit.site, unit.now, asked, folded_in(unit, alarm), contact, why, told_once)
