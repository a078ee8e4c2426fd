"""The chain to the people is tested: everybody gets a test in their own wording, whose OK counts; who was not reached is named.

    begun → (everybody was reached (`drill-passed`) | somebody was not (`drill-missed`)); one contact alone: `contact-tested`

The calendar begins one each `drill.every`; where none has reached everybody for longer than that, it is overdue (`drill-overdue`).
"""

from collections.abc import Sequence
from typing import Any

from gateway.facts import EventKind
from gateway.facts.states.errands_and_tests import DrillUnderWay, DrillWatched
from gateway.facts.states.gateway_itself import Trouble
from gateway.handlers.enqueue import enqueue
from gateway.handlers.event_followers import record_event
from gateway.handlers.gateway_health import begin_trouble
from gateway.handlers.message_times import forget_times, time_message
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.settings.people_tables import Contact
from gateway.status.drill import (
    WAIT,
    can_answer,
    is_over,
    legs_of,
    next_by_itself,
    overdue_at,
    proven_at,
    reached,
    wait_by_itself,
)


def begin_drill(unit: UnitOfWork, contacts: Sequence[Contact], *, by_itself: bool = False) -> DrillUnderWay:
    """Everybody's test goes into the outbox; one that was under way ends here. Ordered by somebody it leaves also in quiet hours."""
    before = unit.tx.state(DrillUnderWay)
    if before is not None:
        _end(unit, before)
    every = unit.site.settings.drill.every
    wait = wait_by_itself(every) if by_itself and every is not None else WAIT
    messages = tuple(_send_test(unit, contact, urgent=not by_itself) for contact in contacts)
    everybody = len(contacts) == len(unit.site.settings.contacts)
    drill = DrillUnderWay(
        at=unit.now, until=unit.now + wait, messages=messages, everybody=everybody, by_itself=by_itself
    )
    unit.tx.set_state(drill)
    return drill


def move_drill(unit: UnitOfWork) -> None:
    """Ends the one under way once nothing more can come; begins one when it is time; says when the chain is not proven."""
    drill = unit.tx.state(DrillUnderWay)
    if drill is not None and is_over(unit.tx, unit.site, drill, unit.now):
        _end(unit, drill)
        drill = None
    every, watched = unit.site.settings.drill.every, unit.tx.state(DrillWatched)
    if every is None:
        unit.tx.clear_state(DrillWatched)
        unit.tx.clear_state(Trouble, "drill-overdue")
        return
    if watched is None or watched.since > unit.now:
        watched = DrillWatched(since=unit.now)
        unit.tx.set_state(watched)
    if drill is None and unit.site.settings.contacts and unit.now >= next_by_itself(unit.tx, unit.site, watched, every):
        unit.tx.set_state(DrillWatched(since=watched.since, tried_at=unit.now))
        begin_drill(unit, unit.site.settings.contacts, by_itself=True)
    if unit.now >= overdue_at(unit.tx, watched, every):
        begin_trouble(unit, "drill-overdue", {"since": proven_at(unit.tx, watched).isoformat()})


def _send_test(unit: UnitOfWork, contact: Contact, *, urgent: bool) -> int:
    phrases = unit.site.phrases
    values = {
        "site": unit.site.settings.site.name,
        "reply": phrases.sentence("mobile", "reply-to-drill") if can_answer(contact) else None,
    }
    text = phrases.message("drill", values, segments=unit.site.segments, line=contact.line)
    return time_message(unit, enqueue(unit, contact, text, urgent=urgent, subject="gateway"))


def _end(unit: UnitOfWork, drill: DrillUnderWay) -> None:
    legs = legs_of(unit.tx, drill)
    missed = [leg.contact for leg in legs if not reached(unit.site, leg)]
    detail: dict[str, Any] = {
        "at": drill.at.isoformat(),
        "contacts": [leg.as_json() for leg in legs],
        "missed": missed,
        "names": ", ".join(unit.site.contact_name(contact) or contact for contact in missed),
    }
    unit.tx.clear_state(DrillUnderWay)
    forget_times(unit, drill.messages)
    kind: EventKind = "drill-missed" if missed else "drill-passed"
    if not drill.everybody:
        kind = "contact-tested"
    # whoever ordered it sees at the terminal who was not reached; of one that the calendar began somebody must be told
    record_event(unit, unit.event(kind, detail), tell=drill.by_itself)
    if kind == "drill-passed":
        unit.tx.clear_state(Trouble, "drill-overdue")
