"""Time, and the one wait of the daemon's loop."""

from datetime import datetime
from queue import SimpleQueue
from typing import Protocol, TypeVar

Value = TypeVar("Value")


class Clock(Protocol):
    """The only reader of time."""

    def now(self) -> datetime:
        """Aware, UTC."""

    def monotonic(self) -> float: ...


class Timer(Protocol):
    """The one wait of the daemon's loop."""

    def wait(self, queue: SimpleQueue[Value], seconds: float) -> Value | None:
        """The next value of the queue as soon as there is one; None once so many seconds (monotonic, 0: none) have gone by without."""
