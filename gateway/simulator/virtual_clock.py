"""A clock that stands still while anybody works, and jumps to whatever is due next once all are at rest.

The daemon's loop, the modem's thread and the simulated modem's thread wait by this clock instead of the machine's: each says until
when, and really sleeps on its own descriptors or queue. `settle` waits until all of them wait and nothing lies between them unread;
then nothing can happen before the earliest of their times, and `advance` may go there. So the same work is done in the same order at
the same times, however fast the machine is.

Whether a thread is at rest is asked twice: it counts as resting only if its count of waits is the same before and after its
descriptors were found empty (a thread that has just read is not taken for one that waits). A poll of a pseudo-terminal also moves what
the kernel has still in hand for it (n_tty's poll flushes the line's buffer), so nothing is overlooked on the way.

Three times are kept apart, as on a real board: the true one, by which who drives and the network go; the board's wall clock, which may be
set wrongly (`step`); and the board's monotonic time, which stands while the board is suspended (`suspend`).
"""

import contextlib
import math
import os
import select
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from queue import SimpleQueue
from typing import Any, TypeVar

from gateway.ports.world import Ended

Value = TypeVar("Value")
LOOKED_EVERY_S = 0.0002
SETTLES_WITHIN_S = 60.0
"""Real time. Longer than this somebody hangs."""
MICRO = 1_000_000
FOR_EVER = 1000 * 366 * 86400 * MICRO
A_SET_CLOCK_IS_NOTICED_WITHIN = 60 * MICRO
"""As the daemon's own timer looks at the wall clock at least each minute."""

Happening = tuple[datetime, Callable[[], None]]
"""What happens outside: when, and what is done then."""


@dataclass(slots=True)
class _Waiter:
    """A thread that waits: until when (microseconds), on which descriptors or queue; `count` goes up at each wait's begin and end."""

    until: int = 0
    descriptors: tuple[int, ...] = ()
    queue: "SimpleQueue[Any] | None" = None
    waits: bool = False
    count: int = 0
    woken: tuple[int, int] = field(default_factory=os.pipe)


def _nothing_happens(until: datetime) -> Happening | None:
    return None


class VirtualClock:
    """Wall and monotonic time, both driven; it is the daemon's timer too.

    `threads`: how many wait by it; before all of them have begun to, nobody is taken to be at rest.
    """

    longest_s = 86400.0
    """It is set by nobody but who drives it."""

    def __init__(self, start: datetime, threads: int = 3) -> None:
        self._threads = threads
        self._true, self._wrong_by, self._elapsed = start, timedelta(0), 0
        """Whole microseconds: a wait that ends a rounding error later than time can go would never end."""
        self._lock = threading.Lock()
        self._waiters: dict[int, _Waiter] = {}

    def now(self) -> datetime:
        """What the board's wall clock says. Aware, UTC."""
        return self._true + self._wrong_by

    def true_now(self) -> datetime:
        """What it is. Aware, UTC."""
        return self._true

    def monotonic(self) -> float:
        """Seconds that the board was awake since it was made."""
        return self._elapsed / MICRO

    def synchronised(self) -> bool:
        """No time server sets it."""
        return False

    def step(self, by: timedelta) -> None:
        """The wall clock is set by so much; monotonic time goes on as it was."""
        self._wrong_by += by
        self._let_it_be_noticed()

    def set_right(self) -> None:
        """The wall clock is set to the true time."""
        self.step(-self._wrong_by)

    def suspend(self, lasts: timedelta) -> None:
        """The board sleeps for so long: time goes by, its monotonic time stands, and nobody on it wakes."""
        self._true += lasts
        self._let_it_be_noticed()

    def _let_it_be_noticed(self) -> None:
        with self._lock:
            for waiter in self._waiters.values():
                if waiter.waits and waiter.queue is not None:
                    waiter.until = min(waiter.until, self._elapsed + A_SET_CLOCK_IS_NOTICED_WITHIN)

    # how the threads wait ------------------------------------------------------------------

    def select(self, reading: Sequence[int], timeout_s: float | None, writing: Sequence[int] = ()) -> list[int]:
        """Which can be read or written, by this clock; a thread that has something to write does not rest."""
        waiter = self._waiter()
        if timeout_s is not None and timeout_s <= 0:
            return _ready(reading, writing, 0.0)
        until = FOR_EVER if timeout_s is None else self._after(timeout_s)
        self._begin(waiter, until, () if writing else tuple(reading), rests=not writing)
        ready = _ready([*reading, waiter.woken[0]], writing, None)
        self._end(waiter)
        return [descriptor for descriptor in ready if descriptor != waiter.woken[0]]

    def pause(self, ended: Ended, seconds: float) -> None:
        """Waits so long, or until the event."""
        waiter = self._waiter()
        self._begin(waiter, self._after(seconds), (), rests=True)
        while not ended.is_set() and not _ready([waiter.woken[0]], (), 0.005):
            pass
        self._end(waiter)

    def wait(self, queue: SimpleQueue[Value], seconds: float) -> Value | None:
        """The next value of the queue, or None once so many seconds have gone by.

        A value is taken off only after the wait is over: as long as it waits, an empty queue means that there is nothing to do.
        """
        waiter = self._waiter()
        self._begin(waiter, self._after(seconds), (), rests=True, queue=queue)
        while queue.empty() and self._elapsed < waiter.until:
            time.sleep(LOOKED_EVERY_S)  # noqa: TID251 - real time goes by while the clock stands still
        self._end(waiter)
        return None if queue.empty() else queue.get_nowait()

    def _after(self, seconds: float) -> int:
        return self._elapsed + math.ceil(seconds * MICRO)

    def _waiter(self) -> _Waiter:
        thread = threading.get_ident()
        waiter = self._waiters.get(thread)
        if waiter is None:
            waiter = self._waiters[thread] = _Waiter()
            os.set_blocking(waiter.woken[0], False)
        return waiter

    def _begin(
        self,
        waiter: _Waiter,
        until: int,
        descriptors: tuple[int, ...],
        *,
        rests: bool,
        queue: SimpleQueue[Any] | None = None,
    ) -> None:
        with self._lock:
            waiter.until, waiter.descriptors, waiter.queue, waiter.waits = until, descriptors, queue, rests
            waiter.count += 1

    def _end(self, waiter: _Waiter) -> None:
        with self._lock:
            waiter.waits = False
            waiter.count += 1
        with contextlib.suppress(BlockingIOError):
            os.read(waiter.woken[0], 64)

    # who drives ----------------------------------------------------------------------------

    def go_on_until(
        self,
        end: datetime,
        next_happening: Callable[[datetime], Happening | None] = _nothing_happens,
        *,
        at_rest: Callable[[], None] = lambda: None,
        stopped: Callable[[], bool] = lambda: False,
    ) -> None:
        """Time goes there, from one thing that is due to the next; `at_rest` is called whenever everybody is.

        `next_happening` gets the time until which nobody wants to be woken, and says what happens outside by then.
        """
        self.settle()
        at_rest()
        while self._true < end and not stopped():
            until = min(self.next_due(), end)
            happening = next_happening(until)
            self.advance(until if happening is None else happening[0])
            if happening is not None:
                happening[1]()
            self.settle()
            at_rest()

    def settle(self) -> None:
        """Returns once everybody is at rest. Raises TimeoutError after a minute of real time."""
        ends = time.monotonic() + SETTLES_WITHIN_S
        while not self._at_rest():
            if time.monotonic() > ends:
                raise TimeoutError(f"somebody does not come to rest at {self._true:%Y-%m-%d %H:%M:%S}")
            time.sleep(LOOKED_EVERY_S)  # noqa: TID251 - the only one who waits by the machine's clock

    def next_due(self) -> datetime:
        """When the earliest of those who wait wants to be woken, in true time."""
        with self._lock:
            due = min((waiter.until for waiter in self._waiters.values() if waiter.waits), default=FOR_EVER)
        return self._true + timedelta(microseconds=max(0, due - self._elapsed))

    def advance(self, to: datetime) -> None:
        """True time goes there, and whoever waited for it is woken."""
        with self._lock:
            passes = max(to - self._true, timedelta(0))
            self._true += passes
            self._elapsed += passes // timedelta(microseconds=1)
            due = [waiter for waiter in self._waiters.values() if waiter.waits and waiter.until <= self._elapsed]
            for waiter in due:
                waiter.waits = False
        for waiter in due:
            os.write(waiter.woken[1], b"!")

    def _at_rest(self) -> bool:
        before = self._counts()
        if len(before) < self._threads or any(not waits for _, waits in before):
            return False
        with self._lock:
            descriptors = [descriptor for waiter in self._waiters.values() for descriptor in waiter.descriptors]
            queues = [waiter.queue for waiter in self._waiters.values() if waiter.queue is not None]
        try:
            readable = _ready(descriptors, (), 0.0)
        except OSError:  # a line was closed meanwhile: somebody works
            return False
        return not readable and all(queue.empty() for queue in queues) and self._counts() == before

    def _counts(self) -> list[tuple[int, bool]]:
        with self._lock:
            return [(waiter.count, waiter.waits) for waiter in self._waiters.values()]


def _ready(reading: Sequence[int], writing: Sequence[int], timeout_s: float | None) -> list[int]:
    readable, writable, _ = select.select(reading, writing, [], timeout_s)
    return [*readable, *writable]
