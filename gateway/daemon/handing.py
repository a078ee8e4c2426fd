"""The outbox → the modem, one message at a time; the modem's answer → the store, with the next message in the same commit.

`sending` is durable before the modem gets a message, and an answer before the next one goes. A mistake made in claiming the next
costs no answer: it is then stored by itself.
"""

from datetime import datetime
from functools import partial

from gateway.daemon.guard import Guard, Within
from gateway.daemon.record import Record
from gateway.daemon.trouble import Trouble
from gateway.flow import deliver
from gateway.flow.house import House, Moment
from gateway.ports import Modem, SendEnded, Store


class Handing:
    """Which message is with the modem. `ready`: the modem can take one."""

    def __init__(
        self, store: Store, modem: Modem, within: Within, guard: Guard, trouble: Trouble, record: Record
    ) -> None:
        self._store, self._modem, self._record = store, modem, record
        self._within, self._guard, self._trouble = within, guard, trouble
        self._in_flight: int | None = None
        self.ready = False

    @property
    def busy(self) -> bool:
        """Whether a message is with the modem."""
        return self._in_flight is not None

    def next(self) -> datetime | None:
        """Claims the next message and gives it to the modem; else when one is due."""
        if not self.ready or self.busy:
            return None
        with self._store.read() as reader:
            if not reader.outbox_waits():
                return None
        return self._give(self._within(deliver.claim))

    def ended(self, house: House, ended: SendEnded) -> None:
        """How a message ended. After one that left the next is claimed at once."""
        self._record("send-ended", job=ended.job, outcome=ended.outcome, code=ended.code)
        if ended.job < 0:
            self._trouble.answered(ended.job)
            return
        self._in_flight = None
        goes_on = self.ready and ended.outcome == "sent"
        self._guard.run(house, ended, partial(self._store_answer, ended, goes_on), modem_ready=self.ready)
        if goes_on and self._guard.mistaken:
            self._guard.run(house, ended, partial(self._store_answer, ended, False), modem_ready=self.ready)

    def _store_answer(self, ended: SendEnded, goes_on: bool) -> None:
        if goes_on:
            self._give(self._within(partial(_ended_and_next, ended=ended)))
        else:
            self._within(partial(deliver.ended, end=ended))

    def _give(self, claimed: deliver.Claimed) -> datetime | None:
        """What was claimed is committed: now the modem may have it."""
        if claimed.job is not None:
            self._in_flight = claimed.job.id
            self._record("handing-over", job=claimed.job.id, number=claimed.job.number)
            self._modem.send(claimed.job)
        return claimed.wake_at


def _ended_and_next(moment: Moment, *, ended: SendEnded) -> deliver.Claimed:
    deliver.ended(moment, ended)
    return deliver.claim(moment)
