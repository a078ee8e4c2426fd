"""One piece of work → done, or what went wrong is on record, and when to try again.

`except Exception` stands here once. A store that fails is the Trouble's matter; anything else is a mistake of ours: it costs
the piece of work in which it was made and nothing beside it, is logged, is an event once an hour, and the loop goes round.
"""

from collections.abc import Callable
from typing import Protocol, TypeVar

from gateway.errors import StoreTrouble
from gateway.handlers import gateway_life
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import Clock
from gateway.service.mistakes import Mistakes, mistake_said
from gateway.service.record import Record
from gateway.service.trouble import Trouble
from gateway.site import Site

AFTER_STORE_TROUBLE_S, AFTER_MISTAKE_S = 10.0, 5.0
T = TypeVar("T")


class Within(Protocol):
    """Does the work in one transaction."""

    def __call__(self, work: Callable[[UnitOfWork], T], /) -> T: ...


class Guard:
    """Whatever the loop does, it does through this."""

    def __init__(
        self, trouble: Trouble, record: Record, clock: Clock, within: Within, heals: Callable[[], None]
    ) -> None:
        self._trouble, self._record, self._clock = trouble, record, clock
        self._within, self._heals = within, heals
        self._mistakes = Mistakes()
        self._again_s: float | None = None
        self._failed = False
        self.mistaken = False

    def run(self, site: Site, item: object, work: Callable[[], T], *, modem_ready: bool = False) -> T | None:
        """What the work returns; None (and `mistaken`) where it went wrong."""
        self.mistaken = False
        done = self._attempt(site, item, work, modem_ready)
        if not self._failed and self._trouble.said is not None and not self._trouble.ends:
            self._attempt(site, None, self._store_works, modem_ready)
        return done

    def _attempt(self, site: Site, item: object, work: Callable[[], T], modem_ready: bool) -> T | None:
        self._failed = False
        try:
            return work()
        except StoreTrouble as trouble:
            self._store_fails(site, item, trouble, modem_ready)
        except Exception as broken:
            self._mistake(site, item, broken, modem_ready)
        self._failed = True
        return None

    def again_within_s(self) -> float | None:
        """How soon to try again what failed since this was asked last."""
        again, self._again_s = self._again_s, None
        return again

    def _store_works(self) -> None:
        """Again, which must be on record before it counts. If that fails, what was done before is done all the same."""
        said = str(self._trouble.said)
        self._within(lambda unit: gateway_life.store_back(unit, said))
        self._heals()

    def _store_fails(self, site: Site, item: object, trouble: StoreTrouble, modem_ready: bool) -> None:
        self._again_s = AFTER_STORE_TROUBLE_S
        self._trouble.begins(trouble, item, site, modem_ready=modem_ready)

    def _mistake(self, site: Site, item: object, broken: Exception, modem_ready: bool) -> None:
        said = mistake_said(broken)
        self._record("mistake", item=type(item).__name__, said=said)
        try:
            if self._mistakes.is_new(said, self._clock.monotonic()):
                self._within(lambda unit: gateway_life.odd(unit, said))
        except StoreTrouble as trouble:
            self._store_fails(site, item, trouble, modem_ready)
        self.mistaken = True
        self._again_s = AFTER_MISTAKE_S
