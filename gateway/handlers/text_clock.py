"""A text that came → its time, judged with what is known of our clock and of its sender's stamps; both learn from it."""

from dataclasses import replace

from gateway.facts import Text
from gateway.facts.states.gateway_itself import ClockConfirmed, ClockEvidence
from gateway.facts.states.people import SenderStamps
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.inbox import after_a_step, clock_standing, time_of_text, weigh_stamp


def timed(unit: UnitOfWork, text: Text, *, came_before: bool = False) -> tuple[UnitOfWork, Text]:
    """The text at its time, and the unit that knows what the clock is worth by now. A stranger's stamp moves neither."""
    sender = _sender(unit, text.number)
    before = unit.tx.state(SenderStamps, sender) if sender else None
    evidence = unit.tx.state(ClockEvidence)
    if sender and text.stamp is not None:
        weighed = weigh_stamp(evidence, text.stamp, text.heard_at, sender, synchronised=unit.synchronised)
        if weighed is not None and weighed != evidence:
            unit.tx.set_state(weighed)
            if weighed.agreed_at is not None:
                unit.tx.set_state(ClockConfirmed(at=weighed.agreed_at))
        evidence = weighed
    clock = clock_standing(unit.now, evidence, synchronised=unit.synchronised)
    judged = time_of_text(
        text.stamp,
        text.heard_at,
        clock=clock,
        before=before,
        came_before=came_before,
        overtaken=bool(text.missing_parts) and before is not None and before.heard_at > text.heard_at,
    )
    if sender:
        unit.tx.set_state(judged.stamps, sender)
    timed_text = replace(text, at=judged.at, doubt=judged.doubt, perhaps_repeat=came_before)
    return replace(unit, trusted=clock.verdict == "right"), timed_text


def clock_stepped(unit: UnitOfWork) -> None:
    """The clock was set, or the gateway starts: what was found of it before holds no more."""
    evidence = unit.tx.state(ClockEvidence)
    if evidence is None:
        return
    left = after_a_step(evidence, unit.now)
    if left is None:
        unit.tx.clear_state(ClockEvidence)
    else:
        unit.tx.set_state(left)


def _sender(unit: UnitOfWork, number: str) -> str:
    """Under which name what is known of its stamps is kept; nothing is of strangers."""
    controller = unit.site.controller_of(number)
    if controller is not None:
        return f"controller:{controller.id}"
    contact = unit.site.contact_by_number.get(number)
    return f"contact:{contact.id}" if contact is not None else ""
