"""Delivery reports → what became of each message; one that nobody got is given up, on record."""

from collections.abc import Sequence

from gateway.facts import Message, Report
from gateway.facts.states.gateway_itself import EarlyReport, EarlyReports
from gateway.handlers.event_followers import record_event
from gateway.handlers.message_times import note_delivered
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.outbox import after_report, match_report

EARLY_KEPT = 20


def take_report(unit: UnitOfWork, report: Report) -> None:
    """A delivery report is matched by reference, number and stamps; one that matches nothing waits for its message."""
    sent = unit.tx.sent_segments(report.reference, unit.site.number(report.number))
    segment = match_report(report, sent, trusted=unit.trusted)
    if segment is None:
        if all(known.stamp is None or known.stamp != report.stamp for known in sent):
            _keep_early(unit, report)
        return
    message_id = segment.message
    complete = unit.tx.report_segment(message_id, segment.segment, report.outcome, report.stamp)
    state = after_report(report.outcome, complete=complete)
    message = unit.tx.message(message_id)
    if state is None or message is None:
        return
    unit.tx.change_message(message_id, state=state, delivered_at=unit.now if state == "delivered" else None)
    if state == "delivered":
        note_delivered(unit, message_id)
    if state == "failed":
        give_up(unit, message, "the network could not deliver it")


def take_early_reports(unit: UnitOfWork, number: str, references: Sequence[int]) -> None:
    """The message with these references was sent: reports of it may have come before the modem's answer did."""
    early = _early_reports(unit)
    mine = [report for report in early if report.reference in references and report.number == number]
    if not mine:
        return
    others = tuple(report for report in early if report not in mine)
    if others:
        unit.tx.set_state(EarlyReports(reports=others))
    else:
        unit.tx.clear_state(EarlyReports)
    for report in mine:
        take_report(
            unit,
            Report(
                reference=report.reference,
                number=number,
                outcome=report.outcome,
                status=report.status,
                stamp=report.stamp,
                discharged=report.discharged,
            ),
        )


def give_up(unit: UnitOfWork, message: Message, why: str) -> None:
    """A message will not reach its contact: on record; who is told of that stands in the table of `event_followers.py`."""
    record_event(unit, unit.event("given-up", {"contact": message.contact, "why": why, "message": message.id}))


def _keep_early(unit: UnitOfWork, report: Report) -> None:
    """A report can be here before the modem's answer to the last segment, which names the references."""
    new = EarlyReport(
        reference=report.reference,
        number=unit.site.number(report.number),
        outcome=report.outcome,
        status=report.status,
        stamp=report.stamp,
        discharged=report.discharged,
    )
    unit.tx.set_state(EarlyReports(reports=(*_early_reports(unit), new)[-EARLY_KEPT:]))


def _early_reports(unit: UnitOfWork) -> tuple[EarlyReport, ...]:
    early = unit.tx.state(EarlyReports)
    return early.reports if early is not None else ()
