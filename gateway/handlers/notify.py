"""An event → messages in the outbox for whoever should hear of it; nothing walks backwards from here.

What is urgent opens (or joins) a call-out and goes turn by turn; the rest goes to every
contact whose `about` has the subject. Work on a tank (a pause) holds its messages; its end tells what still matters.
"""

import gateway.handlers.callouts as callouts
from gateway.alarms import is_urgent
from gateway.facts import KINDS, Event, Subject, Text
from gateway.facts.harmless import harmless
from gateway.handlers.enqueue import enqueue, in_pieces
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.phrases.phrasebook import When
from gateway.settings.models import Contact
from gateway.site import Site
from gateway.status.snapshot import paused
from gateway.status.wording import Told, text_for, told_of


def notify(unit: UnitOfWork, event: Event) -> None:
    """Tells the event to whoever should hear of it."""
    site = unit.site
    if KINDS[event.kind].priority == "record":
        return
    if event.tank is not None and paused(unit.tx, event.tank, unit.now):
        return
    if KINDS[event.kind].word_for_word:
        _word_for_word(unit, event)
        return
    if is_urgent(event.kind, site.settings.call_out):
        callouts.open_or_join(unit, event)
        return
    told = told_of(unit.tx, unit.site, unit.now, event)
    subject = KINDS[event.kind].subject
    for contact in about(site, subject):
        text = text_for(site, told, contact, urgent=False)
        enqueue(unit, contact, text, urgent=False, subject=subject, event=event.id)


def about(site: Site, subject: str) -> tuple[Contact, ...]:
    """The contacts who hear of a subject."""
    return tuple(one for one in site.settings.contacts if subject in one.about)


def tell_stranger(unit: UnitOfWork, text: Text) -> None:
    """An unknown sender's text is told to the `gateway` contacts where the household wants that."""
    site = unit.site
    if site.settings.limits.unknown_senders != "forward":
        return
    values = {
        "number": text.number,
        "since": When(text.at, unit.now, site.zone),
        "raw": harmless(text.text),
    }
    pass_on(unit, about(site, "gateway"), Told(key="stranger", values=values), None)


def _word_for_word(unit: UnitOfWork, event: Event) -> None:
    """What no rule reads goes on as it came, to those who look after controllers (or, with no controller, the gateway)."""
    subject = "controllers" if event.controller else "gateway"
    pass_on(unit, about(unit.site, subject), told_of(unit.tx, unit.site, unit.now, event), event.id)


def pass_on(
    unit: UnitOfWork,
    contacts: tuple[Contact, ...],
    told: Told,
    event: int | None,
    *,
    subject: Subject | None = None,
) -> None:
    """Word for word, in as many messages as it takes; without a `subject` by what the contact hears of."""
    site = unit.site
    segments = site.settings.limits.segments
    whole = site.phrases.uncut_head(told.key, told.values)
    for piece in in_pieces(whole, segments):
        for contact in contacts:
            theirs: Subject = "controllers" if "controllers" in contact.about else "gateway"
            enqueue(unit, contact, piece, urgent=False, subject=subject or theirs, event=event)
