"""What follows an event in words: messages in the outbox for the contacts who should hear of it.

What is urgent raises an alarm and goes turn by turn; the rest goes to every contact whose `about` has the subject. Work on a tank (a
pause) holds its messages; its end tells what still counts. Nothing here records an event: see the table in `event_followers.py`.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime

from gateway.alarms import is_urgent
from gateway.facts import KINDS, Event, Subject, Text
from gateway.facts.harmless import harmless
from gateway.handlers.call_outs import raise_alarm
from gateway.handlers.enqueue import enqueue, in_pieces
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.phrases.phrasebook import Label, When
from gateway.settings.models import Contact
from gateway.status.call_outs import contacts_about
from gateway.status.event_wording import Told, text_for, told_of
from gateway.status.float_memory import active_event
from gateway.status.snapshot import paused


def notify(unit: UnitOfWork, event: Event) -> None:
    """The event is told to whoever should hear of it."""
    site, kind = unit.site, KINDS[event.kind]
    if kind.priority == "record" or (event.tank is not None and paused(unit.tx, event.tank, unit.now)):
        return
    if kind.word_for_word:
        _pass_on_event(unit, event)
        return
    if is_urgent(event.kind, site.settings.call_out):
        raise_alarm(unit, event)
        return
    told = told_of(unit.tx, site, unit.now, event)
    for contact in contacts_about(site, kind.subject):
        text = text_for(site, told, contact, urgent=False)
        enqueue(unit, contact, text, urgent=False, subject=kind.subject, event=event.id)


def notify_if_active_still(unit: UnitOfWork, quiet: Event) -> None:
    """A float is quiet again: a tank that is low (or high) now is told like any other."""
    switch = quiet.detail["state"]
    if switch not in ("low", "high") or quiet.tank is None:
        return
    last = unit.tx.last_event((switch,), tank=quiet.tank, input=quiet.input)
    if last is not None:
        notify(unit, last)


def notify_of_late(unit: UnitOfWork, past: Event) -> None:
    """A text that newer ones of its sender overtook is passed on word for word, with its time: it moves nothing any more."""
    told = told_of(unit.tx, unit.site, unit.now, past)
    contacts = contacts_about(unit.site, KINDS[past.kind].subject)
    _pass_on(unit, contacts, Told(key="late", values=told.values), past.id)


def notify_of_work(unit: UnitOfWork, paused: Event) -> None:
    """Work on a tank began: all others who hear of tanks are told who works there."""
    site = unit.site
    worker = site.contacts.get(paused.detail["by"] or "")
    values = {
        "who": worker.name if worker else site.phrases.label("somebody"),
        "tank": site.tank_name(paused.tank),
        "until": When(datetime.fromisoformat(paused.detail["until"]), unit.now, site.zone),
    }
    others = (contact for contact in contacts_about(site, "tanks") if contact != worker)
    _say(unit, others, "pause-told", values, subject="tanks", event=paused)


def notify_of_work_over(unit: UnitOfWork, over: Event) -> None:
    """Work on a tank is over: who asked for it learns how the tank stands, and a tank that is low is told to all."""
    site = unit.site
    worker = site.contacts.get(over.detail["by"] or "")
    values = {"tank": site.tank_name(over.tank), "state": Label(over.detail["state"])}
    contacts = (worker,) if worker else contacts_about(site, "tanks")
    _say(unit, contacts, "pause-over", values, subject="tanks", event=over)
    still = active_event(unit.tx, site, over.tank) if over.tank else None
    if still is not None:
        notify(unit, still)


def notify_of_giving_up(unit: UnitOfWork, given_up: Event) -> None:
    """A message was given up: everyone else hears it, for somebody may believe that this contact knows."""
    site = unit.site
    message = unit.tx.message(given_up.detail["message"])
    if message is None or message.contact is None or message.subject == "gateway":
        return
    values = {"name": site.contact_name(message.contact), "raw": message.text}
    others = (contact for contact in contacts_about(site, message.subject) if contact.id != message.contact)
    _say(unit, others, "given-up", values, subject="gateway", event=given_up)


def notify_of_limit(unit: UnitOfWork, held_back: Event) -> None:
    """The day's texts are used up: everyone hears until when only urgent ones leave. A digest is no such case."""
    site = unit.site
    if "limit" not in held_back.detail:
        return
    ends = datetime.fromisoformat(held_back.detail["until"])
    values = {"limit": held_back.detail["limit"], "until": When(ends, unit.now, site.zone)}
    _say(unit, site.settings.contacts, "over-limit", values, subject="gateway", event=held_back, urgent=True)


def notify_of_stranger(unit: UnitOfWork, text: Text) -> None:
    """An unknown sender's text is told to the `gateway` contacts where the household wants that."""
    site = unit.site
    if site.settings.limits.unknown_senders != "forward":
        return
    values = {"number": text.number, "since": When(text.at, unit.now, site.zone), "raw": harmless(text.text)}
    _pass_on(unit, contacts_about(site, "gateway"), Told(key="stranger", values=values), None)


def _pass_on_event(unit: UnitOfWork, event: Event) -> None:
    """What cannot be read goes on as it came, to those who look after controllers (or, with no controller, the gateway)."""
    contacts = contacts_about(unit.site, "controllers" if event.controller else "gateway")
    subject: Subject | None = "gateway" if KINDS[event.kind].subject == "gateway" else None
    _pass_on(unit, contacts, told_of(unit.tx, unit.site, unit.now, event), event.id, subject=subject)


def _pass_on(
    unit: UnitOfWork, contacts: Iterable[Contact], told: Told, event: int | None, *, subject: Subject | None = None
) -> None:
    """Word for word, in as many messages as it takes; without a `subject` by what the contact hears of."""
    whole = unit.site.phrases.uncut_head(told.key, told.values)
    hearers = tuple(contacts)
    for piece in in_pieces(whole, unit.site.settings.limits.segments):
        for contact in hearers:
            theirs: Subject = "controllers" if "controllers" in contact.about else "gateway"
            enqueue(unit, contact, piece, urgent=False, subject=subject or theirs, event=event)


def _say(
    unit: UnitOfWork,
    contacts: Iterable[Contact],
    key: str,
    values: Mapping[str, object],
    *,
    subject: Subject,
    event: Event,
    urgent: bool = False,
) -> None:
    for contact in contacts:
        text = unit.site.phrases.message(key, values, segments=unit.site.settings.limits.segments, line=contact.line)
        enqueue(unit, contact, text, urgent=urgent, subject=subject, event=event.id)
