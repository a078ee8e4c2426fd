"""The daemon's clock: what it is worth in each transaction, and whether somebody set it."""

from datetime import datetime

from gateway.facts.states.gateway_itself import ClockEvidence
from gateway.handlers.unit_of_work import UnitOfWork, unit_of_work
from gateway.inbox import clock_standing, clock_trusted
from gateway.ports import Clock, Transaction
from gateway.site import Site

A_STEP_S = 30.0
"""A time server slews by less than this between two looks; more is a clock that was set."""


class ClockWatch:
    """One look after the other."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._apart_s = self._wall_ahead_s()

    def unit(self, tx: Transaction, site: Site) -> UnitOfWork:
        """A unit of work now, which knows what our clock is worth."""
        now, synchronised = self._clock.now(), self._clock.synchronised()
        clock = clock_standing(now, tx.state(ClockEvidence), synchronised=synchronised)
        return unit_of_work(tx, site, now, trusted=clock.verdict == "right", synchronised=synchronised)

    @staticmethod
    def ever_set(now: datetime) -> bool:
        """Whether it shows a time that can be."""
        return clock_trusted(now)

    def stepped(self) -> bool:
        """Whether the wall clock was set since this was asked last."""
        before, self._apart_s = self._apart_s, self._wall_ahead_s()
        return abs(self._apart_s - before) > A_STEP_S

    def _wall_ahead_s(self) -> float:
        return self._clock.now().timestamp() - self._clock.monotonic()
