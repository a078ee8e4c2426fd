"""Urgent events, what ends them, who takes them, and time → call-outs move, and their messages go into the outbox.

One open call-out a subject (tanks, controllers, gateway). `gateway.alarms` decides where one goes; here that is carried out.
"""

from collections.abc import Callable, Sequence
from datetime import datetime

from gateway import alarms
from gateway.alarms import CallOut, Step, Why
from gateway.facts import KINDS, Event
from gateway.handlers.enqueue import enqueue
from gateway.handlers.late_orders import SAME_MOMENT
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.settings.models import Contact
from gateway.status.call_outs import (
    alarm_paused,
    alarms_said,
    all_paused,
    contacts_about,
    deliveries,
    open_call_outs,
)
from gateway.status.event_wording import Told, text_for, told_of

EVENTS_LOOKED_AT = 20
Words = tuple[str, int | None]
"""What to say, and the id of the event it tells of."""


def raise_alarm(unit: UnitOfWork, event: Event) -> None:
    """An urgent event: a new call-out, or one more alarm of the open one."""
    subject = KINDS[event.kind].subject
    row, before = next(
        ((row, call_out) for row, call_out in open_call_outs(unit.tx) if call_out.subject == subject), (None, None)
    )
    contacts, table = contacts_about(unit.site, subject), unit.site.settings.call_out
    step = alarms.raise_alarm(before, alarms.alarm_raised_by(event), subject, contacts, table, unit.now)
    kept = unit.tx.put_call_out(row, opened_at=unit.now, data=step.call_out.as_json())
    _enqueue_notifications(unit, kept.id, step, event)


def close_alarm(unit: UnitOfWork, event: Event) -> None:
    """An event that ends an alarm: the call-out goes on without it, and is closed with the last."""
    key = alarms.key_closed_by(event)
    if key is None:
        return
    for row, call_out in open_call_outs(unit.tx):
        after = alarms.close_alarm(call_out, key)
        if after is not None:
            closed = unit.now if after.state == "closed" else None
            unit.tx.change_call_out(row.id, after.as_json(), closed_at=closed)


def hand_over_call_outs(unit: UnitOfWork, taken: Event) -> None:
    """Somebody answered OK: has every open call-out that nobody had and that began before that was written, and the others learn who."""
    written_at = datetime.fromisoformat(taken.detail.get("written_at", taken.heard_at.isoformat()))
    for row, call_out in open_call_outs(unit.tx):
        if call_out.opened_at > written_at + SAME_MOMENT:
            continue
        step = alarms.take_call_out(call_out, taken.detail["contact"], unit.now)
        unit.tx.change_call_out(row.id, step.call_out.as_json())
        _enqueue_notifications(unit, row.id, step, taken)


def advance_after_giving_up(unit: UnitOfWork, given_up: Event) -> list[Event]:
    """A message was given up: where nobody of the turn was reached, the next turn's is now. Not for what tells of the gateway."""
    message = unit.tx.message(given_up.detail["message"])
    if message is None or message.contact is None or message.subject == "gateway":
        return []
    return advance_call_outs(unit)


def advance_call_outs(unit: UnitOfWork) -> list[Event]:
    """Turns, reminders and refusals that are due. Returns an `unanswered` for each that nobody took, to be recorded."""
    unanswered = []
    for row, before in open_call_outs(unit.tx):
        if all_paused(unit.tx, before, unit.now):
            continue
        contacts = contacts_about(unit.site, before.subject)
        step = alarms.advance(before, deliveries(unit.tx, row), contacts, unit.site.settings.call_out, unit.now)
        if step.call_out == before:
            continue
        unit.tx.change_call_out(row.id, step.call_out.as_json())
        _enqueue_notifications(unit, row.id, step, None)
        if step.call_out.state == "unanswered" and before.state == "open":
            detail = {"matters": [alarm.key for alarm in before.alarms], "told": list(step.call_out.told)}
            unanswered.append(unit.event("unanswered", detail))
    return unanswered


def _enqueue_notifications(unit: UnitOfWork, call_out_id: int, step: Step, event: Event | None) -> None:
    told_once = _told_once(unit)
    subject = KINDS[step.call_out.alarms[-1].kind].subject
    for notification in step.notifications:
        contact = unit.site.contacts.get(notification.contact)
        if contact is None:
            continue
        for text, about in _words_for(unit, step.call_out, notification.why, contact, event, told_once):
            enqueue(unit, contact, text, urgent=True, subject=subject, event=about, call_out=call_out_id)


def _words_for(
    unit: UnitOfWork,
    call_out: CallOut,
    why: Why,
    contact: Contact,
    event: Event | None,
    told_once: Callable[[Event], Told],
) -> Sequence[Words]:
    site = unit.site
    if why in ("taken", "unanswered"):
        values = {
            "who": site.contact_name(call_out.taken_by),
            "matters": alarms_said(site, [call_out], contact.line),
        }
        text = site.phrases.message(why, values, segments=site.settings.limits.segments, line=contact.line)
        return [(text, event.id if event else None)]
    if why == "first" and event is not None:
        return [(text_for(site, told_once(event), contact, urgent=True), event.id)]
    return _words_again(unit, call_out, why, contact, told_once)


def _words_again(
    unit: UnitOfWork, call_out: CallOut, why: Why, contact: Contact, told_once: Callable[[Event], Told]
) -> list[Words]:
    """What was said of each alarm, for the next turn or as a reminder; not of a tank that somebody works on."""
    site = unit.site
    prefix = site.phrases.label("reminder" if why == "reminder" else "next-turn", line=contact.line)
    words: list[Words] = []
    for alarm in call_out.alarms:
        if alarm_paused(unit.tx, alarm, unit.now):
            continue
        for event in unit.tx.events(kinds=(alarm.kind,), limit=EVENTS_LOOKED_AT):
            if event.id == alarm.event:
                text = text_for(site, told_once(event), contact, urgent=True)
                words.append((site.phrases.with_prefix(prefix, text, segments=site.settings.limits.segments), event.id))
    return words


def _told_once(unit: UnitOfWork) -> Callable[[Event], Told]:
    """`told_of`, worked out once an event however many contacts hear of it: the forecast in it is dear."""
    known: dict[int | None, Told] = {}

    def told_once(event: Event) -> Told:
        if event.id not in known:
            known[event.id] = told_of(unit.tx, unit.site, unit.now, event)
        return known[event.id]

    return told_once
