"""What the modem said last → on record, before the daemon ends: how messages ended, and which slots are free.

A message that left is not sent again after the next start, and a text that comes into a slot that was freed is no old one. Each is
stored by itself; a store that fails costs neither the end nor the others.
"""

from collections.abc import Callable, Iterable
from functools import partial

from gateway.daemon.guard import Within
from gateway.daemon.record import Record
from gateway.errors import StoreTrouble
from gateway.flow import deliver, gateway_life
from gateway.flow.house import Moment
from gateway.ports import SendEnded, SlotFreed


def keep_last(within: Within, record: Record, ended: Iterable[SendEnded], freed: Iterable[SlotFreed]) -> None:
    """In the order in which it was said; then that the gateway stopped."""
    slots = [(one.held.memory, one.held.slot) for one in freed if one.done]
    answers = [partial(deliver.ended, end=one) for one in ended if one.job > 0]
    work: list[Callable[[Moment], object]] = [*answers, partial(_free, slots=slots), gateway_life.stopped]
    for each in work:
        try:
            within(each)
        except StoreTrouble as trouble:
            record("store-trouble", said=trouble.said)


def _free(moment: Moment, *, slots: list[tuple[str, int | None]]) -> None:
    moment.tx.slots_freed(slots)
