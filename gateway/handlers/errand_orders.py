"""`ASK ridge status`, and `YES 4821` for what sets or switches: what a contact's phone orders of a controller.

What sets or switches leaves only after its code came back: from the one who asked, once, within five minutes, never from a landline, never
from a text that took long, and never while the box is silent or was never heard, which is looked at again when the code comes.
"""

from gateway.errands import confirms, new_code
from gateway.facts import Event, Text
from gateway.facts.states.errands_and_tests import ErrandCode
from gateway.handlers.enqueue import reply_with
from gateway.handlers.errands import order_errand
from gateway.handlers.event_followers import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.settings.controller_tables import Controller, Errand
from gateway.settings.people_tables import Contact
from gateway.status.errands import came_late, errand_called, errand_meant, errands_for, took, why_not

SEGMENTS_OF_CAUTION = 3
"""What keeps people from harm is not cut: with its caution a code may take more than `limits.segments`."""


def order_by_text(unit: UnitOfWork, contact: Contact, text: Text, what: str) -> Event | None:
    """An errand that looks leaves at once; for one that sets or switches a code goes back. What is not understood is answered with the list."""
    meant = errand_meant(unit.site, what)
    if meant is None:
        _reply_with_list(unit, contact)
        return None
    controller, errand = meant
    if errand.risk == "looks":
        return order_errand(unit, controller, errand, by=contact, text=text)
    refused = why_not(unit.tx, unit.site, unit.now, controller, errand, by=contact)
    if refused is None and came_late(unit.tx, text):
        refused = "late"
    if refused is not None:
        return _refuse(unit, contact, controller, errand, refused)
    if not unit.unanswered:  # a code that nobody is told confirms nothing
        _send_code(unit, contact, controller, errand)
    return None


def confirm_by_text(unit: UnitOfWork, contact: Contact, text: Text, code: str) -> Event | None:
    """The code came back: what it confirms leaves, if it still may."""
    kept = unit.tx.state(ErrandCode, contact.id)
    controller = unit.site.controllers.get(kept.controller) if kept is not None else None
    errand = errand_called(controller, kept.errand) if kept is not None and controller is not None else None
    if kept is None or controller is None or errand is None or not confirms(kept, code, took(unit.tx, text), unit.now):
        reply_with(unit, contact, "errand-code-wrong", {})
        return None
    used = ErrandCode(code=kept.code, controller=kept.controller, errand=kept.errand, made_at=kept.made_at, used=True)
    unit.tx.set_state(used, contact.id)
    return order_errand(unit, controller, errand, by=contact, text=text)


def _send_code(unit: UnitOfWork, contact: Contact, controller: Controller, errand: Errand) -> None:
    before = unit.tx.state(ErrandCode, contact.id)
    code = new_code(before.code if before is not None else None)
    unit.tx.set_state(ErrandCode(code=code, controller=controller.id, errand=errand.id, made_at=unit.now), contact.id)
    values = {
        "errand": errand.id,
        "controller": controller.name,
        "code": code,
        "caution": unit.site.phrases.sentence("caution", errand.risk),
    }
    reply_with(unit, contact, "errand-code", values, segments=SEGMENTS_OF_CAUTION)


def _refuse(unit: UnitOfWork, contact: Contact, controller: Controller, errand: Errand, why: str) -> Event:
    detail = {"errand": errand.id, "by": contact.id, "who": contact.name, "order": 0, "why": why}
    event = unit.event("errand-refused", detail, controller=controller.id, sender=contact.number)
    return record_event(unit, event)


def _reply_with_list(unit: UnitOfWork, contact: Contact) -> None:
    listed = ", ".join(f"{controller.id} {errand.id}" for controller, errand in errands_for(unit.site, contact))
    reply_with(unit, contact, "errands" if listed else "errands-none", {"list": listed})
