"""Time, and what wakes the daemon."""

from datetime import datetime
from typing import Protocol


class Clock(Protocol):
    """The only reader of time."""

    def now(self) -> datetime:
        """Aware, UTC."""

    def monotonic(self) -> float: ...


class Ticks(Protocol):
    """What wakes the daemon's loop: each tick calls what it was made with."""

    def start(self) -> None: ...
    def wake_in(self, seconds: float) -> None:
        """The next tick comes after so many seconds (at most a minute)."""

    def stop(self) -> None: ...
