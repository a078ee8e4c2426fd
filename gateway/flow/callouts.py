"""Urgent events, answers and time → call-outs move, and their messages go into the outbox.

One open call-out a subject (tanks, controllers, gateway); the core room decides, this room carries out.
"""

from collections.abc import Callable, Sequence
from datetime import datetime

from gateway.callout import CallOut, Matter, Step, ended_by, matter_of, subject_of, tick
from gateway.callout import due as due_of
from gateway.callout import matter_over as without_matter
from gateway.callout import open_or_join as join_step
from gateway.callout import take as take_step
from gateway.callout.steps import Delivery, Why
from gateway.facts import Event, Text
from gateway.flow.house import House, Moment
from gateway.flow.look import paused
from gateway.flow.post import answer, post
from gateway.flow.words import Told, text_for, told_of
from gateway.phrases.book import Line
from gateway.ports import CallOutRow, Reader
from gateway.settings.models import Contact

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


def open_or_join(moment: Moment, event: Event) -> None:
    """An urgent event: a new call-out, or one more matter of the open one."""
    subject = subject_of(event.kind)
    row = _open_row(moment.tx, subject)
    contacts = _contacts(moment.house, subject)
    before = CallOut.from_json(row.data) if row else None
    step = join_step(before, matter_of(event), subject, contacts, moment.house.settings.call_out, moment.now)
    kept = moment.tx.put_call_out(row, opened_at=moment.now, data=step.call_out.as_json())
    _tell(moment, kept.id, step, event)


def matter_over(moment: Moment, event: Event) -> None:
    """An event may end a matter, and with the last of them the call-out."""
    key = ended_by(event)
    if key is None:
        return
    for row in moment.tx.call_outs():
        after = without_matter(CallOut.from_json(row.data), key)
        if after is not None:
            closed = moment.now if after.state == "closed" else None
            moment.tx.change_call_out(row.id, after.as_json(), closed_at=closed)


def take(moment: Moment, contact: Contact, text: Text) -> Event | None:
    """`OK`: takes every open call-out; the others learn who has it."""
    rows = [(row, CallOut.from_json(row.data)) for row in moment.tx.call_outs()]
    if not rows:
        _answer(moment, contact, "nothing", {})
        return None
    free = [(row, one) for row, one in rows if one.state != "taken"]
    if not free:
        first = rows[0][1]
        who = moment.house.contact_name(first.taken_by)
        key = "took" if first.taken_by == contact.id else "already"
        said = matters_said(moment, [one for _, one in rows], contact.line)
        _answer(moment, contact, key, {"who": who, "matters": said})
        return None
    event = _taken_event(moment, contact, text, [one for _, one in free])
    for row, one in free:
        step = take_step(one, contact.id, moment.now)
        moment.tx.change_call_out(row.id, step.call_out.as_json())
        _tell(moment, row.id, step, event)
    _answer(moment, contact, "took", {"matters": matters_said(moment, [one for _, one in free], contact.line)})
    return event


def due(moment: Moment) -> bool:
    """Turns, reminders and refusals. True if anything moved."""
    moved = False
    for row in moment.tx.call_outs():
        before = CallOut.from_json(row.data)
        if _all_paused(moment.tx, before, moment.now):
            continue
        contacts = _contacts(moment.house, before.subject)
        step = tick(before, _deliveries(moment.tx, row), contacts, moment.house.settings.call_out, moment.now)
        if step.call_out != before:
            moved = True
            moment.tx.change_call_out(row.id, step.call_out.as_json())
            if step.call_out.state == "unanswered" and before.state == "open":
                _unanswered_event(moment, step.call_out)
            _tell(moment, row.id, step, None)
    return moved


def next_due(reader: Reader, house: House, now: datetime) -> datetime | None:
    """When a call-out must be looked at next."""
    times = []
    for row in reader.call_outs():
        call_out = CallOut.from_json(row.data)
        if _all_paused(reader, call_out, now):
            continue
        contacts = _contacts(house, call_out.subject)
        times.append(due_of(call_out, contacts, house.settings.call_out))
        step = tick(call_out, _deliveries(reader, row), contacts, house.settings.call_out, now)
        if step.call_out != call_out:
            times.append(now)
    return min((at for at in times if at is not None), default=None)


def matters_said(moment: Moment, call_outs: Sequence[CallOut], line: Line) -> str:
    """`House tank low, Ridge controller silent`."""
    said = []
    for one in call_outs:
        for matter in one.matters:
            what = matter.key.partition(":")[2]
            name = moment.house.tanks[what].name if what in moment.house.tanks else moment.house.controller_name(what)
            said.append(f"{name} {moment.house.phrases.label(matter.kind, line=line)}")
    return ", ".join(said) + "."


def _tell(moment: Moment, call_out: int, step: Step, event: Event | None) -> None:
    told_once = _once(moment)
    for tell in step.tell:
        contact = moment.house.contacts.get(tell.contact)
        if contact is None:
            continue
        for text, told in _texts(moment, step.call_out, tell.why, contact, event, told_once):
            post(
                moment,
                contact,
                text,
                urgent=True,
                subject=subject_of(step.call_out.matters[-1].kind),
                event=told,
                call_out=call_out,
            )


def _texts(
    moment: Moment,
    call_out: CallOut,
    why: Why,
    contact: Contact,
    event: Event | None,
    told_once: Callable[[Event], Told],
) -> list[tuple[str, int | None]]:
    """What to say to the contact, and which event each tells of."""
    house = moment.house
    segments = house.settings.limits.segments
    if why in ("taken", "unanswered"):
        matters = matters_said(moment, [call_out], contact.line)
        values = {"who": house.contact_name(call_out.taken_by), "matters": matters}
        said = house.phrases.say(why, values, segments=segments, line=contact.line)
        return [(said, event.id if event else None)]
    if why == "first" and event is not None:
        return [(text_for(house, told_once(event), contact, urgent=True), event.id)]
    texts: list[tuple[str, int | None]] = []
    for matter in call_out.matters:
        if _work_on(moment.tx, matter, moment.now):
            continue
        found = [one for one in moment.tx.events(kinds=(matter.kind,), limit=20) if one.id == matter.event]
        for one in found:
            said = text_for(house, told_once(one), contact, urgent=True)
            prefix = house.phrases.label("reminder" if why == "reminder" else "next-turn", line=contact.line)
            texts.append((house.phrases.prefixed(prefix, said, segments=segments), one.id))
    return texts


def _once(moment: Moment) -> Callable[[Event], Told]:
    """`told_of`, worked out once an event however many contacts hear of it."""
    known: dict[int | None, Told] = {}

    def told_once(event: Event) -> Told:
        if event.id not in known:
            known[event.id] = told_of(moment, event)
        return known[event.id]

    return told_once


def _taken_event(moment: Moment, contact: Contact, text: Text, call_outs: Sequence[CallOut]) -> Event:
    from gateway.flow.happen import happen

    tanks = [key.partition(":")[2] for one in call_outs for key in (matter.key for matter in one.matters)]
    tank = next((one for one in tanks if one in moment.house.tanks), None)
    return happen(
        moment,
        Event(
            kind="taken",
            at=text.at,
            heard_at=moment.now,
            known_at=moment.now,
            tank=tank,
            text=text.text,
            sender=contact.number,
            detail={
                "who": contact.name,
                "contact": contact.id,
                "matters": [m.key for o in call_outs for m in o.matters],
            },
        ),
    )


def _unanswered_event(moment: Moment, call_out: CallOut) -> None:
    from gateway.flow.happen import happen

    detail = {"matters": [one.key for one in call_out.matters], "told": list(call_out.told)}
    happen(
        moment,
        Event(kind="unanswered", at=moment.now, heard_at=moment.now, known_at=moment.now, detail=detail),
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
    return all(_work_on(reader, one, now) for one in call_out.matters)


def _work_on(reader: Reader, matter: Matter, now: datetime) -> bool:
    tank = matter.key.partition(":")[2] if subject_of(matter.kind) == "tanks" else None
    return tank is not None and paused(reader, tank, now)


def _open_row(reader: Reader, subject: str) -> CallOutRow | None:
    return next((row for row in reader.call_outs() if row.data.get("subject") == subject), None)


def _contacts(house: House, subject: str) -> tuple[Contact, ...]:
    return tuple(one for one in house.settings.contacts if subject in one.about)


def _answer(moment: Moment, contact: Contact, key: str, values: dict[str, object]) -> None:
    segments = moment.house.settings.limits.segments
    said = moment.house.phrases.answer(key, values, segments=segments, line=contact.line)
    answer(moment, contact, said)
