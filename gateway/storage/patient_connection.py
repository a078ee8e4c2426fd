"""A connection to PostgreSQL that waits for no answer for ever: behind a live line a server (or what stands between) may hang.

TCP's own limits help against a line that is dead only: a proxy that takes what is sent and gives nothing back keeps them content. A connection
that was waited for in vain is closed, for whatever its answer would be belongs to a statement that was given up.
Source: psycopg 3 documentation (Connection, waiting functions); PostgreSQL manual 34.4 (asynchronous command processing).
"""

import time
from collections.abc import Generator, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from psycopg import Connection, OperationalError

ANSWER_WITHIN_S = 15.0
"""More than the time for which a lock is waited for (`BUSY_MS`)."""

LONG_WORK_S = 3600.0
"""A migration, or room that is freed, takes what it takes."""

_answer_within_s = ContextVar("_answer_within_s", default=ANSWER_WITHIN_S)


@contextmanager
def long_work() -> Iterator[None]:
    """Within it a statement may take its time."""
    before = _answer_within_s.set(LONG_WORK_S)
    try:
        yield
    finally:
        _answer_within_s.reset(before)


class PatientConnection(Connection[Any]):
    """As psycopg's, with an end to its patience."""

    def wait(self, gen: Any, *how: Any, **how_else: Any) -> Any:
        """What the generator gives; OperationalError where the server does not answer in time."""
        return super().wait(self._in_time(gen), *how, **how_else)

    def _in_time(self, waiting: Generator[Any, Any, Any]) -> Generator[Any, Any, Any]:
        limit_s = _answer_within_s.get()
        ends_s = time.monotonic() + limit_s
        try:
            wanted = next(waiting)
            while True:
                ready = yield wanted
                if not ready and time.monotonic() > ends_s:
                    self.pgconn.finish()
                    raise OperationalError(f"the server has not answered for {limit_s:.0f} s")
                wanted = waiting.send(ready)
        except StopIteration as ended:
            return ended.value
