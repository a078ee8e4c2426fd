"""What the modem said last → on record, before the daemon ends: how messages ended, which slots are free, and what stands in no slot.

A message that left is not sent again after the next start, a text that comes into a slot that was freed is no old one, and what the
modem showed without keeping it nobody else has. Each is stored by itself; a store that fails costs neither the end nor the others.
"""

from collections.abc import Callable, Iterable
from functools import partial

from gateway.errors import StoreTrouble
from gateway.facts import HeldPdu
from gateway.handlers import deliver, gateway_life
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import Listed, SendEnded, SlotFreed
from gateway.service.guard import Within
from gateway.service.record import Record


def keep_last(news: Iterable[object], within: Within, record: Record, receive: Callable[[HeldPdu], object]) -> None:
    """In the order in which it was said, free slots after all else; then that the gateway stopped."""
    work: list[Callable[[], object]] = []
    slots: list[tuple[str, int | None]] = []
    for one in news:
        match one:
            case SendEnded() if one.job > 0:
                work.append(partial(within, partial(deliver.message_ended, end=one)))
            case Listed():
                work += [partial(receive, held) for held in one.held if held.slot is None]
            case SlotFreed(done=True):
                slots.append((one.held.memory, one.held.slot))
    work += [partial(within, partial(_free, slots=slots)), partial(within, gateway_life.stopped)]
    for each in work:
        try:
            each()
        except StoreTrouble as trouble:
            record("store-trouble", said=trouble.said)


def _free(unit: UnitOfWork, *, slots: list[tuple[str, int | None]]) -> None:
    unit.tx.slots_freed(slots)
