"""The only reader of time: the wall clock as aware UTC, and a monotonic one."""

import time
from datetime import UTC, datetime


class SystemClock:
    """The machine's own clocks."""

    def now(self) -> datetime:
        """Aware, UTC."""
        return datetime.now(UTC)

    def monotonic(self) -> float:
        """Seconds that never step."""
        return time.monotonic()
