"""One piece of work → done, or what went wrong is on record, and when to try again.

`except Exception` stands here, and else only where a text is received (`handlers.receive` says why). A store that fails is the
StoreOutage's matter; anything else is a mistake of ours: it costs the piece of work in which it was made and nothing beside it, is
logged, is an event once an hour, and the loop goes round.
"""

import traceback
from collections.abc import Callable
from typing import Protocol, TypeVar

from gateway.errors import StoreTrouble
from gateway.handlers import gateway_life
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import Clock
from gateway.service.journal import Journal
from gateway.service.store_outage import StoreOutage
from gateway.site import Site

AFTER_STORE_TROUBLE_S, AFTER_MISTAKE_S = 10.0, 5.0
SAME_MISTAKE_EVERY_S, MOST_MISTAKES = 3600.0, 50
"""The log has each (rate-limited), the history the same one once an hour, so that a loop of errors fills no card."""

Result = TypeVar("Result")


class Within(Protocol):
    """Does the work in one transaction."""

    def __call__(self, work: Callable[[UnitOfWork], Result], /) -> Result: ...


class ErrorBoundary:
    """Whatever the loop does, it does through this. `store_heals`: called once the store works again."""

    def __init__(
        self, outage: StoreOutage, journal: Journal, clock: Clock, within: Within, store_heals: Callable[[], None]
    ) -> None:
        self._outage, self._journal, self._clock = outage, journal, clock
        self._within, self._store_heals = within, store_heals
        self._last_told_s: dict[str, float] = {}
        self._again_s: float | None = None
        self._failed = False
        self.mistaken = False

    def run(self, site: Site, item: object, work: Callable[[], Result], *, modem_ready: bool = False) -> Result | None:
        """What the work returns; None (and `mistaken`) where it went wrong. `item` is what is handled: where the store fails and
        nobody else has it, it waits for the store."""
        self.mistaken = False
        result = self._attempt(site, item, work, modem_ready)
        if not self._failed and self._outage.reason is not None and not self._outage.ends:
            # Any work that succeeds may have needed no store, so that this is tried by a write of its own.
            self._attempt(site, None, self._note_store_works, modem_ready)
        return result

    def again_within_s(self) -> float | None:
        """How soon to try again what failed since this was asked last."""
        again, self._again_s = self._again_s, None
        return again

    def _attempt(self, site: Site, item: object, work: Callable[[], Result], modem_ready: bool) -> Result | None:
        self._failed = False
        try:
            return work()
        except StoreTrouble as trouble:
            self._store_fails(site, item, trouble, modem_ready)
        except Exception as mistake:
            self._note_mistake(site, item, mistake, modem_ready)
        self._failed = True
        return None

    def _note_store_works(self) -> None:
        """Again, which must be on record before it counts. If that fails, what was done before is done all the same."""
        reason = str(self._outage.reason)
        self._within(lambda unit: gateway_life.store_back(unit, reason))
        self._store_heals()

    def _store_fails(self, site: Site, item: object, trouble: StoreTrouble, modem_ready: bool) -> None:
        self._again_s = AFTER_STORE_TROUBLE_S
        self._outage.begins(trouble, item, site, modem_ready=modem_ready)

    def _note_mistake(self, site: Site, item: object, mistake: Exception, modem_ready: bool) -> None:
        words = _in_words(mistake)
        self._journal("mistake", item=type(item).__name__, said=words)
        try:
            if self._is_new(words):
                self._within(lambda unit: gateway_life.odd(unit, words))
        except StoreTrouble as trouble:
            self._store_fails(site, item, trouble, modem_ready)
        self.mistaken = True
        self._again_s = AFTER_MISTAKE_S

    def _is_new(self, words: str) -> bool:
        """Whether it was not put on record within the hour; it counts as put now."""
        now_s = self._clock.monotonic()
        if now_s - self._last_told_s.get(words, float("-inf")) < SAME_MISTAKE_EVERY_S:
            return False
        if len(self._last_told_s) >= MOST_MISTAKES:
            self._last_told_s.clear()
        self._last_told_s[words] = now_s
        return True


def _in_words(mistake: BaseException) -> str:
    """What, and where."""
    frames = traceback.extract_tb(mistake.__traceback__)
    where = f" ({frames[-1].name}, line {frames[-1].lineno})" if frames else ""
    return f"{type(mistake).__name__}: {mistake}{where}"
