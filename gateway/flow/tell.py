"""An event → messages in the outbox for whoever should hear of it; nothing walks backwards from here.

What is urgent opens (or joins) a call-out and goes turn by turn; the rest goes to every
contact whose `about` has the subject. Work on a tank (a pause) holds its messages; its end tells what still matters.
"""

import gateway.flow.callouts as callouts
from gateway.callout import is_urgent, subject_of
from gateway.facts import Event, Subject, Text
from gateway.facts.harmless import harmless
from gateway.flow.house import House, Moment
from gateway.flow.look import paused
from gateway.flow.post import in_pieces, post
from gateway.flow.words import Told, text_for, told_of
from gateway.phrases.book import When
from gateway.settings.models import Contact

SILENT_KINDS = frozenset({"reading", "alive", "note", "taken", "unanswered", "paused", "pause-over", "backup-made"})
"""On record only: told by other means, or to nobody."""


def announce(moment: Moment, event: Event) -> None:
    """Tells the event to whoever should hear of it."""
    house = moment.house
    if event.kind in SILENT_KINDS or not house.phrases.has(event.kind):
        return
    if event.tank is not None and paused(moment.tx, event.tank, moment.now):
        return
    if event.kind == "unread":
        _word_for_word(moment, event)
        return
    if is_urgent(event.kind, house.settings.call_out):
        callouts.open_or_join(moment, event)
        return
    told = told_of(moment, event)
    subject = subject_of(event.kind)
    for contact in about(house, subject):
        text = text_for(house, told, contact, urgent=False)
        post(moment, contact, text, urgent=False, subject=subject, event=event.id)


def about(house: House, subject: str) -> tuple[Contact, ...]:
    """The contacts who hear of a subject."""
    return tuple(one for one in house.settings.contacts if subject in one.about)


def tell_stranger(moment: Moment, text: Text) -> None:
    """An unknown sender's text is told to the `gateway` contacts where the household wants that."""
    house = moment.house
    if house.settings.limits.unknown_senders != "forward":
        return
    values = {
        "number": text.number,
        "since": When(text.at, moment.now, house.zone),
        "raw": harmless(text.text),
    }
    pass_on(moment, about(house, "gateway"), Told(key="stranger", values=values), None)


def _word_for_word(moment: Moment, event: Event) -> None:
    """What no rule reads goes on as it came, to those who look after controllers (or, with no controller, the gateway)."""
    subject = "controllers" if event.controller else "gateway"
    pass_on(moment, about(moment.house, subject), told_of(moment, event), event.id)


def pass_on(
    moment: Moment,
    contacts: tuple[Contact, ...],
    told: Told,
    event: int | None,
    *,
    subject: Subject | None = None,
) -> None:
    """Word for word, in as many messages as it takes; without a `subject` by what the contact hears of."""
    house = moment.house
    segments = house.settings.limits.segments
    whole = house.phrases.in_full(told.key, told.values)
    for piece in in_pieces(whole, segments):
        for contact in contacts:
            theirs: Subject = "controllers" if "controllers" in contact.about else "gateway"
            post(moment, contact, piece, urgent=False, subject=subject or theirs, event=event)
