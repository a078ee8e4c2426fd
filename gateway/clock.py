"""The only reader of time: the wall clock as aware UTC, a monotonic one, and the wait for what comes next."""

import time
from datetime import UTC, datetime
from queue import Empty, SimpleQueue
from typing import TypeVar

Value = TypeVar("Value")


class SystemClock:
    """The machine's own clocks."""

    def now(self) -> datetime:
        """Aware, UTC."""
        return datetime.now(UTC)

    def monotonic(self) -> float:
        """Seconds that never step."""
        return time.monotonic()


class SystemTimer:
    """Waits as long as it takes by the machine's monotonic clock: setting the wall clock neither ends the wait nor draws it out."""

    def wait(self, queue: SimpleQueue[Value], seconds: float) -> Value | None:
        """The next value, or None once so many seconds have gone by."""
        try:
            return queue.get(timeout=seconds)
        except Empty:
            return None
