"""An errand is ordered, its answer comes or does not → its text in the outbox, its events on record.

    ordered (`errand-ordered`) → answered (`errand-answered`), otherwise (`errand-unexpected`), not at all (`errand-unanswered`),
    or it never left (`errand-refused`)

One at a time for each controller. What comes next by time is `gateway.errands`' to say; who is told stands in `notify_of_errands.py`.
"""

from dataclasses import replace
from typing import Any

from gateway.errands import drift, filled_text
from gateway.facts import Event, EventKind, Message, RuleRead, Text
from gateway.facts.states.errands_and_tests import BoxClock, ErrandUnderWay
from gateway.gsm.segments import measure_text
from gateway.handlers.event_followers import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.settings.controller_tables import Controller, Errand
from gateway.settings.errand_checks import ASK_ID
from gateway.settings.people_tables import Contact
from gateway.status.errands import (
    NotSent,
    answer_in,
    errand_called,
    late_answer_in,
    own_number,
    step_of,
    texted_number,
    why_not,
)


def order_errand(
    unit: UnitOfWork, controller: Controller, errand: Errand, *, by: Contact | None, text: Text | None = None
) -> Event:
    """The errand leaves as soon as it can; `errand-refused` where it may not. `text`: the order, if a contact wrote one."""
    refused = why_not(unit.tx, unit.site, unit.now, controller, errand, by=by)
    sender = by.number if by is not None else None
    detail = {"errand": errand.id, "by": by.id if by else None, "who": by.name if by else None}
    if refused is not None:
        return record_event(
            unit,
            unit.event(
                "errand-refused", {**detail, "order": 0, "why": refused}, controller=controller.id, sender=sender
            ),
        )
    ordered = record_event(unit, unit.event("errand-ordered", detail, controller=controller.id, sender=sender))
    _send(unit, controller, errand, order=ordered.id or 0, by=by.id if by else None, own=False)
    return ordered


def ask_controller(unit: UnitOfWork, controller: Controller) -> None:
    """The gateway's own asking before a silence: the errand that the controller's `ask` is. One that is still unanswered makes room."""
    errand = errand_called(controller, ASK_ID)
    if errand is None or texted_number(controller) is None:
        return
    before = unit.tx.state(ErrandUnderWay, controller.id)
    if before is not None:
        _end(unit, controller, before, "errand-unanswered" if before.sent_at else "errand-refused", why="not-left")
    ordered = record_event(
        unit, unit.event("errand-ordered", {"errand": ASK_ID, "by": None, "who": None}, controller=controller.id)
    )
    _send(unit, controller, errand, order=ordered.id or 0, by=None, own=True)


def errand_heard(unit: UnitOfWork, controller: Controller, text: Text, read: RuleRead) -> None:
    """A text of the controller: the answer that was waited for, another one, one that comes late, or none."""
    if unit.imported:
        return
    answer = answer_in(unit.tx, controller, text, read)
    if answer is not None and answer.fits:
        _end(unit, controller, answer.under_way, "errand-answered", text=text)
    elif answer is not None and read.rule is None:
        _end(unit, controller, answer.under_way, "errand-unexpected", text=text)
    elif answer is not None:
        # a rule reads it, so the box may say it by itself: it is what was answered only if nothing better comes in time
        if answer.under_way.other is None:
            unit.tx.set_state(replace(answer.under_way, other=text.text, other_at=unit.now), controller.id)
    else:
        _late_answer(unit, controller, text)


def box_clock_read(unit: UnitOfWork, controller: Controller, text: Text, read: RuleRead) -> None:
    """A text said the box's own time of day: how far that is from the network's stamp is kept for the week's report."""
    clock = next((reading.clock for reading in read.readings if reading.clock is not None), None)
    if unit.imported or clock is None or text.stamp is None or text.stamp != text.at:
        return
    ahead_s = drift(clock, text.stamp, unit.site.zone).total_seconds()
    unit.tx.set_state(BoxClock(ahead_s=ahead_s, at=text.at), controller.id)


def move_errands(unit: UnitOfWork) -> None:
    """What time brings to the errands under way: sent again, given up, taken back."""
    for controller_id, under_way in unit.tx.states(ErrandUnderWay).items():
        controller = unit.site.controllers.get(controller_id)
        if controller is None:
            _take_back(unit, under_way)
            unit.tx.clear_state(ErrandUnderWay, controller_id)
            continue
        _move(unit, controller, under_way)


def _move(unit: UnitOfWork, controller: Controller, under_way: ErrandUnderWay) -> None:
    errand = errand_called(controller, under_way.errand)
    match step_of(unit.tx, controller, under_way, unit.now).course:
        case "wait":
            return
        case "again" if errand is not None:
            _take_back(unit, under_way)
            _send(
                unit, controller, errand, order=under_way.order, by=under_way.by, own=under_way.own,
                tries=under_way.tries + 1,
            )  # fmt: skip
        case "unexpected":
            _end(unit, controller, under_way, "errand-unexpected")
        case "refused":
            _end(unit, controller, under_way, "errand-refused", why="network")
        case "take-back":
            _take_back(unit, under_way)
            why: NotSent = "gone" if errand is None else "not-left"
            _end(unit, controller, under_way, "errand-unanswered" if under_way.sent_at else "errand-refused", why=why)
        case _:
            _take_back(unit, under_way)
            _end(unit, controller, under_way, "errand-unanswered")


def _send(
    unit: UnitOfWork,
    controller: Controller,
    errand: Errand,
    *,
    order: int,
    by: str | None,
    own: bool,
    tries: int = 1,
) -> None:
    text = filled_text(errand.text, unit.now, unit.site.zone, own_number(unit.tx, unit.site))
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
    under_way = ErrandUnderWay(
        order=order, errand=errand.id, by=by, own=own, put_at=unit.now, message=message.id or 0, tries=tries
    )
    unit.tx.set_state(under_way, controller.id)


def _end(
    unit: UnitOfWork,
    controller: Controller,
    under_way: ErrandUnderWay,
    kind: EventKind,
    *,
    text: Text | None = None,
    why: NotSent | None = None,
) -> None:
    """It is over: on record with who, when and the round trip. `text`: its answer."""
    unit.tx.clear_state(ErrandUnderWay, controller.id)
    answer, answered_at = (text.text, unit.now) if text is not None else (under_way.other, under_way.other_at)
    if kind in ("errand-unanswered", "errand-refused"):
        answer = answered_at = None
    detail = {**_detail_of(unit, controller, under_way), **_round_trip(under_way, answered_at)}
    if kind == "errand-refused":
        detail["why"] = why
    at = text.at if text is not None else unit.now
    sender = text.number if text is not None else None
    record_event(unit, unit.event(kind, detail, at=at, controller=controller.id, text=answer, sender=sender))


def _detail_of(unit: UnitOfWork, controller: Controller, under_way: ErrandUnderWay) -> dict[str, Any]:
    errand = errand_called(controller, under_way.errand)
    message = unit.tx.message(under_way.message)
    segments = (message.segments if message is not None else 1) * (under_way.tries if under_way.sent_at else 0)
    return {
        "order": under_way.order,
        "errand": under_way.errand,
        "by": under_way.by,
        "who": unit.site.contact_name(under_way.by),
        "own": under_way.own,
        "risk": errand.risk if errand is not None else "looks",
        "expected": bool(errand is not None and errand.answer),
        "tries": under_way.tries,
        "segments": segments,
        "cost": round(segments * unit.site.settings.limits.price_per_segment, 4),
        "sent_at": under_way.sent_at.isoformat() if under_way.sent_at else None,
    }


def _round_trip(under_way: ErrandUnderWay, answered_at: Any) -> dict[str, Any]:
    """By our own clock at both ends."""
    if answered_at is None:
        return {}
    trip = max(0.0, (answered_at - (under_way.sent_at or under_way.put_at)).total_seconds())
    return {"answered_at": answered_at.isoformat(), "round_trip_s": round(trip, 3), "lasted_s": trip}


def _late_answer(unit: UnitOfWork, controller: Controller, text: Text) -> None:
    ended = late_answer_in(unit.tx, controller, text)
    if ended is None:
        return
    detail = {**ended.detail, "late": True, "answered_at": unit.now.isoformat()}
    record_event(
        unit,
        unit.event("errand-answered", detail, at=text.at, controller=controller.id, text=text.text, sender=text.number),
    )


def _take_back(unit: UnitOfWork, under_way: ErrandUnderWay) -> None:
    """What waits in the outbox leaves no more; what is with the modem may."""
    message = unit.tx.message(under_way.message)
    if message is not None and message.state in ("waiting", "held", "unsure"):
        unit.tx.change_message(under_way.message, state="failed")
