"""Who hears of an alarm, and why now → messages in the outbox, each tied to every alarm that it names."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime

from gateway.alarms.next_step import presses
from gateway.alarms.rounds import Step
from gateway.facts import Event, Message
from gateway.facts.alarms import Alarm, Telling, TellingWhy
from gateway.facts.states.people import InflowAsked
from gateway.handlers.enqueue import enqueue
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.settings.people_tables import Contact
from gateway.status.alarm_rounds import ASKS, told_of_it
from gateway.status.alarm_words import ToldOnce, said_it, several_said, told_once_of, words_of
from gateway.status.event_wording import inflow_question
from gateway.status.waiting import quiet_for

CALLS: tuple[TellingWhy, ...] = ("first", "worse", "next-turn", "second-call", "sooner", "taken")
"""What goes out as urgent as its alarm is. All else keeps to quiet hours unless it presses."""

NEW_CALLS: tuple[TellingWhy, ...] = ("first", "worse", "next-turn", "second-call", "sooner", "warned")
"""What leaves beyond `limits.a_day_each`, if it is urgent."""


def keep_and_tell(unit: UnitOfWork, step: Step, before: Alarm | None = None) -> list[Event]:
    """Stores the alarm, tells whom it concerns; an `unanswered` to be recorded where it is that now."""
    unit.tx.put_alarm(step.alarm)
    if step.notifications:
        tell(unit, step)
    if before is None or step.alarm.state != "unanswered" or before.state == "unanswered":
        return []
    detail = {"matters": [step.alarm.key], "told": [notification.contact for notification in step.notifications]}
    return [unit.event("unanswered", detail)]


def tell(unit: UnitOfWork, step: Step, told_once: ToldOnce | None = None) -> None:
    """The messages of a step."""
    told_once = told_once or told_once_of(unit.tx, unit.site, unit.now)
    alarm = step.alarm
    folded, told = folded_in(unit, alarm), told_of_it(unit.tx, alarm, whys=ASKS)
    for notification in step.notifications:
        contact = unit.site.contacts.get(notification.contact)
        if contact is None:
            continue
        why = notification.why
        text = words_of(unit.tx, unit.site, unit.now, alarm, folded, contact, why, told_once)
        spared = why == "taken" and contact.id not in told
        urgent = is_call(unit, alarm, why) and not spared
        # no limit of the day holds a warning, only sleep does; and not of who has just sent a text
        urgent |= why == "warned" and (said_it(unit.tx, alarm, contact) or sleeps_until(unit, (contact.id,)) is None)
        message = enqueue(unit, contact, text, urgent=urgent, subject=alarm.subject, event=alarm.event)
        tie(unit, message, (alarm, *folded), why)
        question = inflow_question(unit.site, unit.site.tank_name(alarm.tank))
        if alarm.tank is not None and question is not None and question in text:
            unit.tx.set_state(InflowAsked(tank=alarm.tank, at=unit.now))


def remind(unit: UnitOfWork, contact: Contact, alarms: Sequence[Alarm]) -> None:
    """One reminder that names all that is open to that contact."""
    if len(alarms) == 1:
        told_once = told_once_of(unit.tx, unit.site, unit.now)
        folded = folded_in(unit, alarms[0])
        texts = [words_of(unit.tx, unit.site, unit.now, alarms[0], folded, contact, "reminder", told_once)]
    else:
        texts = several_said(unit.tx, unit.site, unit.now, alarms, contact, why="reminder")
    for text in texts:
        urgent = any(presses(alarm, unit.site.settings.call_out, unit.now) for alarm in alarms)
        message = enqueue(unit, contact, text, urgent=urgent, subject=alarms[0].subject, event=alarms[0].event)
        tie(unit, message, alarms, "reminder")


def tie(unit: UnitOfWork, message: Message, alarms: Iterable[Alarm], why: TellingWhy) -> None:
    """The contact of the message hears of these alarms by it."""
    assert message.contact is not None
    for alarm in alarms:
        unit.tx.put_telling(
            Telling(alarm=alarm.number, contact=message.contact, at=unit.now, why=why, message=message.id)
        )


def mark_answered(unit: UnitOfWork, alarm: Alarm, contact: str) -> None:
    """The contact answered what they were told of it."""
    for telling in unit.tx.tellings(alarm=alarm.number):
        if telling.contact == contact and telling.answered_at is None:
            unit.tx.put_telling(replace(telling, answered_at=unit.now))


def folded_in(unit: UnitOfWork, alarm: Alarm) -> tuple[Alarm, ...]:
    """The alarms that it tells of too."""
    standing = unit.tx.alarms()
    return tuple(other for other in standing if other.state == "folded" and other.folded_in == alarm.id)


def is_call(unit: UnitOfWork, alarm: Alarm, why: TellingWhy) -> bool:
    """Whether the message wakes people: an urgent alarm's calls do, and what comes again only if it presses."""
    if alarm.priority != "urgent" or why in ("later", "warned"):
        return False
    comes_again = why not in CALLS or (why == "next-turn" and alarm.asked_first is not None)
    return not comes_again or presses(alarm, unit.site.settings.call_out, unit.now)


def sleeps_until(unit: UnitOfWork, contacts: Iterable[str]) -> datetime | None:
    """When the last of those contacts whose hours are quiet now has them no more; None: nobody's are."""
    quiet = quiet_for(unit.tx, unit.site, unit.now)
    asleep = (Message(contact=contact, number="", text="", at=unit.now) for contact in contacts)
    return max((until for message in asleep if (until := quiet(message)) is not None), default=None)
