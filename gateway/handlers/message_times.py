"""The messages of a drill or a walk → when each left, arrived and was answered. Nothing here records an event."""

from collections.abc import Collection
from dataclasses import replace

from gateway.facts import Message
from gateway.facts.states.errands_and_tests import TimedMessage
from gateway.handlers.unit_of_work import UnitOfWork


def time_message(unit: UnitOfWork, message: Message) -> int:
    """Its times are kept from now on; its id."""
    assert message.id is not None and message.contact is not None
    unit.tx.set_state(TimedMessage(contact=message.contact, put_at=unit.now), str(message.id))
    return message.id


def note_sent(unit: UnitOfWork, message_id: int) -> None:
    """The modem has handed it over."""
    timed = unit.tx.state(TimedMessage, str(message_id))
    if timed is not None and timed.sent_at is None:
        unit.tx.set_state(replace(timed, sent_at=unit.now), str(message_id))


def note_delivered(unit: UnitOfWork, message_id: int) -> None:
    """The network says that it arrived."""
    timed = unit.tx.state(TimedMessage, str(message_id))
    if timed is not None and timed.delivered_at is None:
        unit.tx.set_state(replace(timed, delivered_at=unit.now), str(message_id))


def note_answered(unit: UnitOfWork, contact: str) -> bool:
    """The contact's OK counts for every test that has left for them; whether there was one."""
    counted = False
    for message_id, timed in unit.tx.states(TimedMessage).items():
        if timed.contact == contact and timed.sent_at is not None and timed.answered_at is None:
            unit.tx.set_state(replace(timed, answered_at=unit.now), message_id)
            counted = True
    return counted


def forget_times(unit: UnitOfWork, message_ids: Collection[int]) -> None:
    """The drill or walk is over: what its messages took is on record there."""
    for message_id in message_ids:
        unit.tx.clear_state(TimedMessage, str(message_id))
