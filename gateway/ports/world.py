"""Time, and the one wait of the daemon's loop."""

from collections.abc import Sequence
from datetime import datetime
from queue import SimpleQueue
from typing import Protocol, TypeVar

Value = TypeVar("Value")


class Ended(Protocol):
    """What ends a pause early (`threading.Event`)."""

    def is_set(self) -> bool: ...
    def wait(self, timeout: float | None = None) -> bool: ...


class Clock(Protocol):
    """The only reader of time."""

    def now(self) -> datetime:
        """Aware, UTC."""

    def monotonic(self) -> float: ...

    def synchronised(self) -> bool:
        """Whether the system says that a time server set its clock; False also where it does not tell."""

    def select(self, reading: Sequence[int], timeout_s: float | None, writing: Sequence[int] = ()) -> list[int]:
        """Waits until one of the descriptors can be read (or written), at most so long; which can."""

    def pause(self, ended: Ended, seconds: float) -> None:
        """Waits so long, or until the event."""


class Timer(Protocol):
    """The one wait of the daemon's loop. `longest_s`: after so long at the latest it looks at the clock again, which may have been set."""

    longest_s: float

    def wait(self, queue: SimpleQueue[Value], seconds: float) -> Value | None:
        """The next value of the queue as soon as there is one; None once so many seconds (monotonic, 0: none) have gone by without."""
