"""The outbox → the modem, one message at a time; the modem's answer → the store, with the next message in the same commit.

`sending` is durable before the modem gets a message, and an answer before the next one goes. Reports that came with the answer go
into the same commit. A mistake made in any of that costs no answer: it is then stored by itself.
"""

from collections.abc import Callable, Sequence
from datetime import datetime
from functools import partial

from gateway.facts import HeldPdu, Report
from gateway.handlers import deliver
from gateway.handlers.receive import take
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import Listed, Modem, SendEnded, Store, Transaction
from gateway.service.error_boundary import ErrorBoundary, Within
from gateway.service.journal import Journal
from gateway.service.store_outage import StoreOutage
from gateway.site import Site


class Dispatcher:
    """Which message is with the modem. `ready`: the modem can take one. `more_comes`: whether listed texts still wait to be stored."""

    def __init__(
        self,
        store: Store,
        modem: Modem,
        within: Within,
        boundary: ErrorBoundary,
        outage: StoreOutage,
        journal: Journal,
        more_comes: Callable[[], bool],
    ) -> None:
        self._store, self._modem, self._journal, self._more_comes = store, modem, journal, more_comes
        self._within, self._boundary, self._outage = within, boundary, outage
        self._in_flight: int | None = None
        self._held_back = False
        self.ready = False

    @property
    def busy(self) -> bool:
        """Whether a message is with the modem."""
        return self._in_flight is not None

    def could_go_on(self, tx: Transaction) -> bool:
        """Whether a message would leave, were this transaction on the disk; not while all that waited was held back."""
        return self.ready and not self.busy and not self._held_back and tx.outbox_waits()

    def send_next(self) -> datetime | None:
        """Claims the next message and gives it to the modem; else when one is due."""
        if not self.ready or self.busy:
            return None
        with self._store.read() as reader:
            if not reader.outbox_waits():
                self._held_back = False
                return None
        return self._give_to_modem(self._within(partial(deliver.claim_next, more_comes=self._more_comes())))

    def handle_send_ended(self, site: Site, ended: SendEnded, reports: Sequence[HeldPdu] = ()) -> bool:
        """How a message ended. After one that left the next is claimed at once, and `reports` are stored with it: True."""
        self._journal("send-ended", job=ended.job, outcome=ended.outcome, why=ended.why or None)
        if ended.job < 0:
            self._outage.answered(ended.job)
            return False
        if not ended.late:
            self._in_flight = None
        if self.ready and not ended.late and ended.outcome == "sent":
            store_all = partial(self._store_and_send_next, ended, reports)
            stored = self._boundary.run(site, ended, store_all, modem_ready=self.ready)
            if stored or not self._boundary.mistaken:
                return bool(stored)
        store_alone = partial(self._within, partial(deliver.message_ended, end=ended))
        self._boundary.run(site, ended, store_alone, modem_ready=self.ready)
        return False

    def _store_and_send_next(self, ended: SendEnded, reports: Sequence[HeldPdu]) -> bool:
        more_comes = self._more_comes()
        work = partial(_store_and_claim_next, ended=ended, reports=reports, more_comes=more_comes)
        self._give_to_modem(self._within(work))
        return True

    def _give_to_modem(self, claimed: deliver.Claimed) -> datetime | None:
        """What was claimed is committed: now the modem may have it."""
        self._held_back = claimed.job is None
        if claimed.job is not None:
            self._in_flight = claimed.job.id
            self._journal("handing-over", job=claimed.job.id, number=claimed.job.number)
            self._modem.send(claimed.job)
        return claimed.wake_at


def holds_only_reports(news: Listed) -> bool:
    """What the modem passed on by itself: no slot waits to be freed after it."""
    return bool(news.held) and all(isinstance(held.content, Report) and held.slot is None for held in news.held)


def _store_and_claim_next(
    unit: UnitOfWork, *, ended: SendEnded, reports: Sequence[HeldPdu], more_comes: bool
) -> deliver.Claimed:
    deliver.message_ended(unit, ended)
    for report in reports:
        take(unit, report)
    return deliver.claim_next(unit, more_comes=more_comes)
