"""The only reader of time: the wall clock as aware UTC, a monotonic one, and the wait for what comes next."""

import select
import time
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import TypeVar

from gateway.ports.world import Ended

Value = TypeVar("Value")
SYNCHRONISED = Path("/run/systemd/timesync/synchronized")
"""There since the clock was first set by a time server after the start of the board (systemd-timesyncd.service(8))."""


class SystemClock:
    """The machine's own clocks."""

    def now(self) -> datetime:
        """Aware, UTC."""
        return datetime.now(UTC)

    def monotonic(self) -> float:
        """Seconds that never step."""
        return time.monotonic()

    def synchronised(self) -> bool:
        """Whether the system says that a time server set its clock; False also where it does not tell."""
        return SYNCHRONISED.exists()

    def select(self, reading: Sequence[int], timeout_s: float | None, writing: Sequence[int] = ()) -> list[int]:
        """Which of the descriptors can be read (or written), after at most so long. Raises OSError, ValueError."""
        readable, writable, _ = select.select(reading, writing, [], timeout_s)
        return [*readable, *writable]

    def pause(self, ended: Ended, seconds: float) -> None:
        """Waits so long, or until the event."""
        ended.wait(seconds)


class SystemTimer:
    """Waits as long as it takes by the machine's monotonic clock: setting the wall clock neither ends the wait nor draws it out."""

    longest_s = 60.0

    def wait(self, queue: SimpleQueue[Value], seconds: float) -> Value | None:
        """The next value, or None once so many seconds have gone by."""
        try:
            return queue.get(timeout=seconds)
        except Empty:
            return None
