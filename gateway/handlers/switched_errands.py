"""What was switched by an errand ends: its stop text leaves after `longest`, is tried on until it has left, and both are told.

switched → (stop text in the outbox → left (`errand-stopped`) | refused (`errand-runs-on`, urgent, tried each minute))
"""

from dataclasses import replace

from gateway.errands import filled_text
from gateway.facts import Message
from gateway.facts.states.errands_and_tests import Switched
from gateway.gsm.segments import measure_text
from gateway.handlers.event_followers import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.settings.controller_tables import Controller, Errand
from gateway.status.errands import STOP_TRIED_EVERY, errand_called, own_number, texted_number


def end_switched(unit: UnitOfWork) -> None:
    """Each that was switched and whose time is over."""
    for subject, switched in unit.tx.states(Switched).items():
        controller_id, _, errand_id = subject.partition(":")
        controller = unit.site.controllers.get(controller_id)
        errand = errand_called(controller, errand_id) if controller is not None else None
        if controller is None or errand is None:
            _forget(unit, subject, switched, controller_id, errand_id)
        elif unit.now >= switched.until or switched.until - unit.now > errand.longest:
            _end(unit, controller, errand, subject, switched)


def _end(unit: UnitOfWork, controller: Controller, errand: Errand, subject: str, switched: Switched) -> None:
    message = unit.tx.message(switched.message) if switched.message is not None else None
    if message is not None and message.state in ("sent", "delivered"):
        unit.tx.clear_state(Switched, subject)
        lasted_s = (unit.now - switched.since).total_seconds()
        detail = {**_detail(unit, errand.id, switched), "lasted_s": lasted_s, "alarm": switched.told}
        record_event(unit, unit.event("errand-stopped", detail, controller=controller.id))
        return
    if message is None or message.state == "failed":
        switched = replace(switched, message=_put_stop_text(unit, controller, errand))
        unit.tx.set_state(switched, subject)
    elif message.not_before is not None and message.not_before - unit.now > STOP_TRIED_EVERY:
        unit.tx.change_message(message.id or 0, not_before=unit.now + STOP_TRIED_EVERY)
    refused = message is not None and (message.state == "failed" or (message.state != "sending" and message.tries > 0))
    if refused and not switched.told:
        unit.tx.set_state(replace(switched, told=True), subject)
        record_event(unit, unit.event("errand-runs-on", _detail(unit, errand.id, switched), controller=controller.id))


def _put_stop_text(unit: UnitOfWork, controller: Controller, errand: Errand) -> int:
    text = filled_text(errand.stop_text, unit.now, unit.site.zone, own_number(unit.tx, unit.site))
    message = unit.tx.put_message(
        Message(
            contact=None,
            number=texted_number(controller) or controller.number[0],
            text=text,
            at=unit.now,
            urgent=True,
            subject="controllers",
            segments=measure_text(text).segments,
        )
    )
    return message.id or 0


def _forget(unit: UnitOfWork, subject: str, switched: Switched, controller_id: str, errand_id: str) -> None:
    """It is configured no more, so that nobody knows what would end it: said as what cannot be ended."""
    unit.tx.clear_state(Switched, subject)
    record_event(unit, unit.event("errand-runs-on", _detail(unit, errand_id, switched), controller=controller_id))


def _detail(unit: UnitOfWork, errand_id: str, switched: Switched) -> dict[str, object]:
    return {
        "errand": errand_id,
        "by": switched.by,
        "who": unit.site.contact_name(switched.by),
        "since": switched.until.isoformat(),
    }
