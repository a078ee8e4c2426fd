"""Urgent events, answers and time → call-outs move, and their messages go into the outbox.

One open call-out a subject (tanks, controllers, gateway); the core room decides, this room carries out.
"""

from collections.abc import Callable, Sequence
from datetime import datetime

from gateway.alarms import (
    Alarm,
    CallOut,
    Delivery,
    Step,
    Why,
    advance,
    alarm_raised_by,
    close_alarm,
    due_at,
    key_closed_by,
    raise_alarm,
    take_call_out,
)
from gateway.facts import KINDS, Event, Text
from gateway.handlers.enqueue import enqueue, reply
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.phrases.phrasebook import Line
from gateway.ports import CallOutRow, Reader
from gateway.settings.models import Contact
from gateway.site import Site
from gateway.status.snapshot import paused
from gateway.status.wording import Told, text_for, told_of

RANKS: tuple[Delivery, ...] = ("failed", "refused", "waiting", "sent", "delivered")
DELIVERIES: dict[str, Delivery] = {
    "waiting": "waiting",
    "held": "waiting",
    "sending": "waiting",
    "unsure": "waiting",
    "sent": "sent",
    "delivered": "delivered",
    "failed": "failed",
    "joined": "waiting",
}


def open_or_join(unit: UnitOfWork, event: Event) -> None:
    """An urgent event: a new call-out, or one more alarm of the open one."""
    subject = KINDS[event.kind].subject
    row = _open_row(unit.tx, subject)
    contacts = _contacts(unit.site, subject)
    before = CallOut.from_json(row.data) if row else None
    step = raise_alarm(before, alarm_raised_by(event), subject, contacts, unit.site.settings.call_out, unit.now)
    kept = unit.tx.put_call_out(row, opened_at=unit.now, data=step.call_out.as_json())
    _tell(unit, kept.id, step, event)


def alarm_over(unit: UnitOfWork, event: Event) -> None:
    """An event may end an alarm, and with the last of them the call-out."""
    key = key_closed_by(event)
    if key is None:
        return
    for row in unit.tx.call_outs():
        after = close_alarm(CallOut.from_json(row.data), key)
        if after is not None:
            closed = unit.now if after.state == "closed" else None
            unit.tx.change_call_out(row.id, after.as_json(), closed_at=closed)


def take(unit: UnitOfWork, contact: Contact, text: Text) -> Event | None:
    """`OK`: takes every open call-out; the others learn who has it."""
    rows = [(row, CallOut.from_json(row.data)) for row in unit.tx.call_outs()]
    if not rows:
        _reply(unit, contact, "nothing", {})
        return None
    free = [(row, one) for row, one in rows if one.state != "taken"]
    if not free:
        first = rows[0][1]
        who = unit.site.contact_name(first.taken_by)
        key = "took" if first.taken_by == contact.id else "already"
        said = alarms_said(unit, [one for _, one in rows], contact.line)
        _reply(unit, contact, key, {"who": who, "matters": said})
        return None
    event = _taken_event(unit, contact, text, [one for _, one in free])
    for row, one in free:
        step = take_call_out(one, contact.id, unit.now)
        unit.tx.change_call_out(row.id, step.call_out.as_json())
        _tell(unit, row.id, step, event)
    _reply(unit, contact, "took", {"matters": alarms_said(unit, [one for _, one in free], contact.line)})
    return event


def due(unit: UnitOfWork) -> bool:
    """Turns, reminders and refusals. True if anything moved."""
    moved = False
    for row in unit.tx.call_outs():
        before = CallOut.from_json(row.data)
        if _all_paused(unit.tx, before, unit.now):
            continue
        contacts = _contacts(unit.site, before.subject)
        step = advance(before, _deliveries(unit.tx, row), contacts, unit.site.settings.call_out, unit.now)
        if step.call_out != before:
            moved = True
            unit.tx.change_call_out(row.id, step.call_out.as_json())
            if step.call_out.state == "unanswered" and before.state == "open":
                _unanswered_event(unit, step.call_out)
            _tell(unit, row.id, step, None)
    return moved


def next_due(reader: Reader, site: Site, now: datetime) -> datetime | None:
    """When a call-out must be looked at next."""
    times = []
    for row in reader.call_outs():
        call_out = CallOut.from_json(row.data)
        if _all_paused(reader, call_out, now):
            continue
        contacts = _contacts(site, call_out.subject)
        times.append(due_at(call_out, site.settings.call_out))
        step = advance(call_out, _deliveries(reader, row), contacts, site.settings.call_out, now)
        if step.call_out != call_out:
            times.append(now)
    return min((at for at in times if at is not None), default=None)


def alarms_said(unit: UnitOfWork, call_outs: Sequence[CallOut], line: Line) -> str:
    """`House tank low, Ridge controller silent`."""
    said = []
    for one in call_outs:
        for alarm in one.alarms:
            what = alarm.about
            name = unit.site.tanks[what].name if what in unit.site.tanks else unit.site.controller_name(what)
            said.append(f"{name} {unit.site.phrases.label(alarm.kind, line=line)}")
    return ", ".join(said) + "."


def _tell(unit: UnitOfWork, call_out: int, step: Step, event: Event | None) -> None:
    told_once = _once(unit)
    for notification in step.notifications:
        contact = unit.site.contacts.get(notification.contact)
        if contact is None:
            continue
        for text, told in _texts(unit, step.call_out, notification.why, contact, event, told_once):
            enqueue(
                unit,
                contact,
                text,
                urgent=True,
                subject=KINDS[step.call_out.alarms[-1].kind].subject,
                event=told,
                call_out=call_out,
            )


def _texts(
    unit: UnitOfWork,
    call_out: CallOut,
    why: Why,
    contact: Contact,
    event: Event | None,
    told_once: Callable[[Event], Told],
) -> list[tuple[str, int | None]]:
    """What to say to the contact, and which event each tells of."""
    site = unit.site
    segments = site.settings.limits.segments
    if why in ("taken", "unanswered"):
        alarms = alarms_said(unit, [call_out], contact.line)
        values = {"who": site.contact_name(call_out.taken_by), "matters": alarms}
        said = site.phrases.message(why, values, segments=segments, line=contact.line)
        return [(said, event.id if event else None)]
    if why == "first" and event is not None:
        return [(text_for(site, told_once(event), contact, urgent=True), event.id)]
    texts: list[tuple[str, int | None]] = []
    for alarm in call_out.alarms:
        if _work_on(unit.tx, alarm, unit.now):
            continue
        found = [one for one in unit.tx.events(kinds=(alarm.kind,), limit=20) if one.id == alarm.event]
        for one in found:
            said = text_for(site, told_once(one), contact, urgent=True)
            prefix = site.phrases.label("reminder" if why == "reminder" else "next-turn", line=contact.line)
            texts.append((site.phrases.with_prefix(prefix, said, segments=segments), one.id))
    return texts


def _once(unit: UnitOfWork) -> Callable[[Event], Told]:
    """`told_of`, worked out once an event however many contacts hear of it."""
    known: dict[int | None, Told] = {}

    def told_once(event: Event) -> Told:
        if event.id not in known:
            known[event.id] = told_of(unit.tx, unit.site, unit.now, event)
        return known[event.id]

    return told_once


def _taken_event(unit: UnitOfWork, contact: Contact, text: Text, call_outs: Sequence[CallOut]) -> Event:
    from gateway.handlers.record import record_event

    abouts = [alarm.about for call_out in call_outs for alarm in call_out.alarms]
    tank = next((about for about in abouts if about in unit.site.tanks), None)
    return record_event(
        unit,
        Event(
            kind="taken",
            at=text.at,
            heard_at=unit.now,
            known_at=unit.now,
            tank=tank,
            text=text.text,
            sender=contact.number,
            detail={
                "who": contact.name,
                "contact": contact.id,
                "matters": [m.key for o in call_outs for m in o.alarms],
            },
        ),
    )


def _unanswered_event(unit: UnitOfWork, call_out: CallOut) -> None:
    from gateway.handlers.record import record_event

    detail = {"matters": [one.key for one in call_out.alarms], "told": list(call_out.told)}
    record_event(
        unit,
        Event(kind="unanswered", at=unit.now, heard_at=unit.now, known_at=unit.now, detail=detail),
        tell=False,
    )


def _deliveries(reader: Reader, row: CallOutRow) -> dict[str, Delivery]:
    """The best that became of any message of the call-out, by contact."""
    best: dict[str, Delivery] = {}
    for message in reader.messages_of(call_out=row.id):
        refused = message.state == "waiting" and message.tries > 0
        new: Delivery = "refused" if refused else DELIVERIES[message.state]
        if message.contact is not None:
            best[message.contact] = max(best.get(message.contact, "failed"), new, key=RANKS.index)
    return best


def _all_paused(reader: Reader, call_out: CallOut, now: datetime) -> bool:
    """While somebody works on all that it is about, its turns and reminders stand still."""
    return all(_work_on(reader, one, now) for one in call_out.alarms)


def _work_on(reader: Reader, alarm: Alarm, now: datetime) -> bool:
    tank = alarm.about if KINDS[alarm.kind].subject == "tanks" else None
    return tank is not None and paused(reader, tank, now)


def _open_row(reader: Reader, subject: str) -> CallOutRow | None:
    return next((row for row in reader.call_outs() if row.data.get("subject") == subject), None)


def _contacts(site: Site, subject: str) -> tuple[Contact, ...]:
    return tuple(one for one in site.settings.contacts if subject in one.about)


def _reply(unit: UnitOfWork, contact: Contact, key: str, values: dict[str, object]) -> None:
    segments = unit.site.settings.limits.segments
    said = unit.site.phrases.reply(key, values, segments=segments, line=contact.line)
    reply(unit, contact, said)
