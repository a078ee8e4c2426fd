"""One PDU that the modem holds → everything that follows from it, in one commit; only then may its slot be freed.

Raises StoreTrouble: the text then stays where it is. A mistake of ours in what follows costs no text: it is kept raw as unread, told
word for word, on record.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace

from gateway.errors import StoreTrouble
from gateway.facts import Delivered, HeldPdu, InState, Report, Text, Undecodable
from gateway.gsm.tpdu_key import tpdu_key
from gateway.handlers.event_followers import record_event
from gateway.handlers.report import take_report
from gateway.handlers.text import read_text
from gateway.handlers.text_clock import timed
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.inbox import in_time_for_a_repeat, nothing_came_between
from gateway.inbox.joined_parts import WAIT_FOR_PARTS, left_over, parts_of_one_text, what_there_is
from gateway.ports import Arrival, Store, StoredPart, Transaction

UnitOf = Callable[[Transaction], UnitOfWork]
"""A transaction → the unit of work that it is now."""


def receive(store: Store, unit: UnitOf, held: HeldPdu) -> bool:
    """Stores the PDU and all that follows. True: its slot may be freed."""

    def take_it() -> None:
        with store.write() as tx:
            take(unit(tx), held)

    mistake = _mistake_in(take_it)
    if mistake is not None:
        with store.write() as tx:
            _keep_raw(unit(tx), held, mistake)
    return True


def receive_all(
    store: Store,
    unit: UnitOf,
    held: Sequence[HeldPdu],
    *,
    enough: Callable[[Transaction], bool] = lambda tx: False,
) -> tuple[HeldPdu, ...]:
    """The same for several in one commit, until it is `enough`. Those whose slots may be freed."""
    taken: list[HeldPdu] = []

    def take_them() -> None:
        with store.write() as tx:
            now = unit(tx)
            for pdu in held:
                take(now, pdu)
                taken.append(pdu)
                if enough(tx):
                    break

    if len(held) > 1 and _mistake_in(take_them) is None:
        return tuple(taken)
    # nothing of that was committed; whose fault it was shows when each is received by itself
    return tuple(pdu for pdu in held if receive(store, unit, pdu))


def read_overdue_parts(unit: UnitOfWork) -> None:
    """What there is of texts whose parts did not all come in time is read."""
    late = unit.tx.parts_heard_before(unit.now - WAIT_FOR_PARTS)
    groups: dict[tuple[str, int, int], list[StoredPart]] = {}
    for part in late:
        groups.setdefault((part.number, part.part.reference, part.part.total), []).append(part)
    for parts in groups.values():
        for group in left_over(parts):
            unit.tx.drop_parts(part.id for part in group)
            read_text(*timed(unit, what_there_is(group)))


def take(unit: UnitOfWork, held: HeldPdu) -> None:
    """Everything that follows from it, within this transaction."""
    content = held.content
    match content:
        case Report():
            take_report(unit, content)
        case Undecodable():
            _take_undecodable(unit, held, content)
        case Delivered():
            _take_delivered(unit, held, content)


def _take_delivered(unit: UnitOfWork, held: HeldPdu, content: Delivered) -> None:
    key = tpdu_key(held.pdu)
    earlier = unit.tx.last_arrival(key)
    if earlier is not None and unit.tx.stored_in_slot(key, held.memory, held.slot):
        return
    number = unit.site.number(content.sender)
    if earlier is not None and _is_repeat(unit, earlier, number, content):
        # its slot is kept too: listed again later, since its delete failed, it must still be known
        unit.tx.keep_arrival(key, held, unit.now, number=number, repeat=True)
        _keep_line(unit, number, content, "repeat")
        return
    arrival = unit.tx.keep_arrival(key, held, unit.now, number=number)
    if content.not_for_people is not None:
        _keep_line(unit, number, replace(content, text=f"({content.not_for_people}) {content.text}"), "ignored")
        return
    if content.part is None or content.part.total <= 1:
        text = Text(number=number, text=content.text, at=unit.now, heard_at=unit.now, stamp=content.stamp)
        read_text(*timed(unit, text, came_before=earlier is not None))
        return
    unit.tx.keep_part(arrival, number, content.part, content.text, content.stamp, unit.now)
    parts = parts_of_one_text(unit.tx.waiting_parts(number, content.part.reference, content.part.total))
    if parts is not None:
        unit.tx.drop_parts(part.id for part in parts)
        text = replace(what_there_is(parts), heard_at=unit.now)
        read_text(*timed(unit, text, came_before=earlier is not None))


def _is_repeat(unit: UnitOfWork, earlier: Arrival, number: str, content: Delivered) -> bool:
    if not in_time_for_a_repeat(earlier.heard_at, unit.now):
        return False
    others = unit.tx.others_since(earlier.id, number)
    return nothing_came_between(others, content.part.total if content.part else 1)


def _keep_line(unit: UnitOfWork, number: str, content: Delivered, state: InState) -> None:
    """A line of `texts`: nothing that came leaves without one. It moves nothing, is told to nobody, and is no sign of life: what is not
    for people is nobody's."""
    controller, contact = unit.site.controller_of(number), unit.site.contact_by_number.get(number)
    nobodys = content.not_for_people is not None
    unit.tx.keep_text(
        Text(number=number, text=content.text, at=unit.now, heard_at=unit.now, stamp=content.stamp),
        state,
        controller=controller.id if controller and not nobodys else None,
        contact=contact.id if contact and not controller and not nobodys else None,
        known_at=unit.now,
    )


def _take_undecodable(unit: UnitOfWork, held: HeldPdu, content: Undecodable) -> None:
    key = tpdu_key(held.pdu)
    if unit.tx.stored_in_slot(key, held.memory, held.slot):
        return
    unit.tx.keep_arrival(key, held, unit.now)
    _record_unreadable(unit, held.pdu, content.reason)


def _mistake_in(work: Callable[[], object]) -> Exception | None:
    """The mistake of ours that the work met, if any. Raises StoreTrouble.

    The service's error boundary keeps the loop going and puts a mistake on record; but a text needs more than that: its words must be
    kept before its slot is freed, also while the gateway stops, when no boundary stands around it.
    """
    try:
        work()
    except StoreTrouble:
        raise
    except Exception as mistake:
        return mistake
    return None


def _keep_raw(unit: UnitOfWork, held: HeldPdu, mistake: Exception) -> None:
    key = tpdu_key(held.pdu)
    if unit.tx.stored_in_slot(key, held.memory, held.slot):
        return
    unit.tx.keep_arrival(key, held, unit.now)
    why = f"{type(mistake).__name__}: {mistake}"
    content = held.content
    if isinstance(content, Delivered):
        _record_unreadable(unit, content.text, why, number=unit.site.number(content.sender))
    else:
        _record_unreadable(unit, held.pdu, why)


def _record_unreadable(unit: UnitOfWork, raw: str, why: str, *, number: str = "") -> None:
    controller = unit.site.controller_of(number) if number else None
    text_id = unit.tx.keep_text(
        Text(number=number, text=raw, at=unit.now, heard_at=unit.now),
        "unread",
        controller=controller.id if controller else None,
        known_at=unit.now,
    )
    controller_id = controller.id if controller else None
    event = record_event(
        unit, unit.event("unread", {"why": why}, controller=controller_id, text=raw, sender=number or None)
    )
    if text_id is not None and event.id is not None:
        unit.tx.tie_text(text_id, event.id)
