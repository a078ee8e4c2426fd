"""One APScheduler job that ticks when something is next due, and at the latest every minute.

In: `put()` puts a tick on the daemon's queue; `wake_in(seconds)` moves the next tick nearer or farther. The job's trigger
always answers "now + period", so a stepped wall clock can neither stall it for good nor make it catch up in a burst; the
daemon's own monotonic wait re-arms it (see `gateway/service.py`). No job store, nothing in parallel: a tick only puts a value on the
queue, which the scheduler's own thread does. Each move of the next tick wakes that thread: it is spared where the tick would come
in time anyway, as it does at rest.
Source: APScheduler 3 user guide (coalesce, max_instances, misfire_grace_time; the debug executor runs a job where it was submitted).
"""

import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from apscheduler.executors.debug import DebugExecutor
from apscheduler.schedulers.background import BackgroundScheduler
from apscheduler.triggers.base import BaseTrigger

LONGEST_SLEEP_S = 60.0
SHORTEST_SLEEP_S = 0.1
SOONER_AT_MOST_S = 0.5
"""A tick that comes so much before its time is not moved."""


class EveryFromNow(BaseTrigger):  # type: ignore[misc]  # the library has no types
    """Fires `first` after whatever `now` is, then once a minute, however the clock was stepped."""

    def __init__(self, first: timedelta) -> None:
        self.first = first

    def get_next_fire_time(self, previous_fire_time: datetime | None, now: datetime) -> datetime:
        """The library's own hook."""
        return now + (self.first if previous_fire_time is None else timedelta(seconds=LONGEST_SLEEP_S))


class Ticker:
    """Ticks until stopped; every method may be called from the daemon's thread."""

    def __init__(self, put: Callable[[], None]) -> None:
        self._put = put
        self._lock = threading.Lock()
        self._next_s = float("-inf")
        self._scheduler = BackgroundScheduler(
            timezone=UTC,
            executors={"default": DebugExecutor()},
            job_defaults={"coalesce": True, "max_instances": 1, "misfire_grace_time": None},
        )
        self._job = self._scheduler.add_job(self._tick, EveryFromNow(timedelta(seconds=LONGEST_SLEEP_S)), id="tick")

    def start(self) -> None:
        """Begins to tick."""
        self._scheduler.start()

    def wake_in(self, seconds: float) -> None:
        """The next tick comes after so many seconds (at most a minute)."""
        wait = min(max(seconds, SHORTEST_SLEEP_S), LONGEST_SLEEP_S)
        now = time.monotonic()
        with self._lock:
            in_time = now < self._next_s and 0 <= now + wait - self._next_s <= SOONER_AT_MOST_S
            self._next_s = self._next_s if in_time else now + wait
        if not in_time:
            self._job.reschedule(EveryFromNow(timedelta(seconds=wait)))

    def _tick(self) -> None:
        """The next one comes in a minute, unless it is moved."""
        with self._lock:
            self._next_s = time.monotonic() + LONGEST_SLEEP_S
        self._put()

    def stop(self) -> None:
        """No tick after this."""
        self._scheduler.shutdown(wait=False)
