"""A text from a number that nobody here has → whether it is a box's, or a person's, is asked; `ADOPT 4821` adds the number.

    a stranger's text → asked (`adopt-asked`), nothing moves → ADOPT by whoever may ask → added (`adopted`), told to all

A person's new number is asked for by its own text, `ADOPT robin`, and never confirmed by that person's old number. The code is good once, for
a day. However many strangers text, so many are asked about in a day and no more.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import timedelta

from gateway.errands import new_code
from gateway.facts import Event, EventKind, Text
from gateway.facts.harmless import harmless
from gateway.facts.states.controllers_and_tanks import Silence
from gateway.facts.states.people import AdoptedNumber, AdoptionAsked
from gateway.handlers.enqueue import enqueue, reply_with
from gateway.handlers.event_followers import record_event
from gateway.handlers.late_orders import written_before
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.phone_numbers import to_national
from gateway.settings.controller_tables import Controller
from gateway.settings.people_tables import Contact
from gateway.status.alarm_rounds import contacts_about

CODE_HOLDS = timedelta(days=1)
MOST_IN_A_DAY = 3
SEGMENTS = 2
"""How to answer is never cut, and it stands behind a name and a number."""


def ask_of_box(unit: UnitOfWork, text: Text, fitting: Sequence[Controller], *, urgent: bool) -> Event | None:
    """A stranger's text fits the rules of these boxes: it is asked whether it is the one that is silent, or the first of them."""
    silent = [box for box in fitting if unit.tx.state(Silence, box.id) is not None]
    box = next(iter([*silent, *fitting]), None)
    if box is None or not _is_a_number(text.number) or not _may_ask_now(unit, text.number):
        return None
    code = _keep_question(unit, AdoptionAsked(code="", of="controller", whose=box.id, at=unit.now), text)
    values = {**_values(unit, text.number), "controller": box.name, "code": code, "raw": harmless(text.text)}
    hearers = [contact for contact in contacts_about(unit.site, "controllers") if contact.may_ask]
    _tell(unit, hearers, "adopt-box", values, urgent=urgent)
    return record_event(unit, _event(unit, "adopt-asked", text, box.id, box.name))


def ask_of_contact(unit: UnitOfWork, text: Text, said: str) -> Event | None:
    """A stranger says that they are one of the household: whoever else may ask is asked; a name that is nobody's is nobody's."""
    contact = unit.site.contact_called(said)
    if contact is None or not _is_a_number(text.number) or not _may_ask_now(unit, text.number):
        return None
    code = _keep_question(unit, AdoptionAsked(code="", of="contact", whose=contact.id, at=unit.now), text)
    others = [other for other in unit.site.contacts.values() if other.may_ask and other.id != contact.id]
    _tell(
        unit, others, "adopt-contact", {**_values(unit, text.number), "name": contact.name, "code": code}, urgent=False
    )
    return record_event(unit, _event(unit, "adopt-asked", text, None, contact.name))


def adopt_by_text(unit: UnitOfWork, contact: Contact, text: Text, code: str) -> Event | None:
    """The code came back: the number counts from now on; told to all. The event, from whose `since` on that number's texts count too."""
    found = next(
        ((number, asked) for number, asked in unit.tx.states(AdoptionAsked).items() if asked.code == code), None
    )
    if found is None or not _holds(unit, found[1]) or written_before(unit, text, found[1].at):
        reply_with(unit, contact, "adopt-wrong", {})
        return None
    number, asked = found
    if asked.of == "contact" and asked.whose == contact.id:
        reply_with(unit, contact, "adopt-own", {})
        return None
    unit.tx.clear_state(AdoptionAsked, number)
    return _adopt(unit, contact, text, number, asked)


def asks_of_a_number(unit: UnitOfWork, code: str) -> bool:
    """Whether the code is of a question about a number that still stands, so that YES means it too."""
    return any(asked.code == code and _holds(unit, asked) for asked in unit.tx.states(AdoptionAsked).values())


def _adopt(unit: UnitOfWork, contact: Contact, text: Text, number: str, asked: AdoptionAsked) -> Event | None:
    box, person = unit.site.controllers.get(asked.whose), unit.site.contacts.get(asked.whose)
    meant = box if asked.of == "controller" else person
    if meant is None or unit.site.controller_of(number) is not None or number in unit.site.contact_by_number:
        reply_with(unit, contact, "adopt-wrong", {})  # another file since
        return None
    written = {person.id: person.number for person in unit.site.as_written.contacts}
    instead_of = written.get(asked.whose) if asked.of == "contact" else None
    kept = AdoptedNumber(of=asked.of, whose=asked.whose, by=contact.id, at=unit.now, instead_of=instead_of)
    unit.tx.set_state(kept, number)
    values = {**_values(unit, number), "name": meant.name, "who": contact.name}
    _tell(unit, [other for other in unit.site.contacts.values() if other != contact], "adopted", values, urgent=False)
    reply_with(unit, contact, "adopted", values)
    detail = {"who": contact.name, "number": number, "of": asked.of, "whose": asked.whose, "from": asked.at.isoformat()}
    controller = asked.whose if asked.of == "controller" else None
    event = unit.event(
        "adopted", {**detail, "name": meant.name}, controller=controller, text=text.text, sender=contact.number
    )
    return record_event(unit, event)


def _keep_question(unit: UnitOfWork, asked: AdoptionAsked, text: Text) -> str:
    """Its code, which no other question has."""
    taken = {question.code for question in unit.tx.states(AdoptionAsked).values()}
    code = new_code(None)
    while code in taken:
        code = new_code(None)
    unit.tx.set_state(replace(asked, code=code), text.number)
    return code


def _is_a_number(sender: str) -> bool:
    """A name as sender anybody can buy, and a short code is nobody's phone."""
    return sender.startswith("+")


def _may_ask_now(unit: UnitOfWork, number: str) -> bool:
    """Not again of one number while its code holds, and of few numbers a day: whoever texts a thousand times rings nobody a thousand times."""
    holding = {of for of, asked in unit.tx.states(AdoptionAsked).items() if _holds(unit, asked)}
    return number not in holding and len(holding) < MOST_IN_A_DAY


def _holds(unit: UnitOfWork, asked: AdoptionAsked) -> bool:
    return asked.at <= unit.now < asked.at + CODE_HOLDS


def _values(unit: UnitOfWork, number: str) -> dict[str, object]:
    return {"number": to_national(number, unit.site.settings.site.country)}


def _tell(
    unit: UnitOfWork, contacts: Sequence[Contact], key: str, values: Mapping[str, object], *, urgent: bool
) -> None:
    segments = max(unit.site.segments, SEGMENTS)
    for contact in contacts:
        words = unit.site.phrases.message(key, values, segments=segments, line=contact.line)
        enqueue(unit, contact, words, urgent=urgent, subject="controllers")


def _event(unit: UnitOfWork, kind: EventKind, text: Text, controller: str | None, name: str) -> Event:
    return unit.event(kind, {"name": name}, at=text.at, controller=controller, text=text.text, sender=text.number)
