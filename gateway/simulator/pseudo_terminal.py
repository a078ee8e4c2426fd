"""Bytes for the gateway ↔ a pseudo-terminal, on one thread that sleeps until something happens.

It has the master end; the gateway opens the slave end (or its stable link). Everything that touches the file
descriptors runs on the thread. Timers run there too, under the lock that the owner shares.
The owner's own open slave keeps the line up while nobody listens; what nobody reads is dropped beyond `KEPT_BYTES`.
"""

import contextlib
import heapq
import os
import threading
import tty
from collections.abc import Callable
from itertools import count
from pathlib import Path

from gateway.ports import Clock

KEPT_BYTES = 1024 * 1024
STOP_SECONDS = 20.0
"""Given up after: it takes a millisecond, but for a machine that has no time for it."""
READ_BYTES = 4096

Pace = Callable[[], tuple[int, float]]
"""→ how many bytes one write may have, and how many seconds must pass before the next."""


class PseudoTerminal:
    """`on_bytes` gets what the gateway wrote; it is called under `lock`."""

    def __init__(
        self, link: str | None, lock: threading.RLock, on_bytes: Callable[[bytes], None], pace: Pace, clock: Clock
    ) -> None:
        self._link = Path(link) if link is not None else None
        self._lock, self._on_bytes, self._pace, self._clock = lock, on_bytes, pace, clock
        self._master: int | None = None
        self._slave: int | None = None
        self._device = ""
        self._out = bytearray()
        self._not_before = 0.0
        self._timers: list[tuple[float, int, Callable[[], None]]] = []
        self._order = count()
        self._thread: threading.Thread | None = None
        self._stopping = False
        self._pipe: tuple[int, int] | None = None

    @property
    def device(self) -> str:
        """What the gateway opens: the link if there is one, else the slave's own path."""
        return str(self._link) if self._link is not None else self._device

    @property
    def is_up(self) -> bool:
        """Whether the device is there."""
        return self._master is not None

    def start(self) -> None:
        """A pseudo-terminal and the thread that serves it."""
        self._stopping = False
        self._pipe = os.pipe()
        for end in self._pipe:
            os.set_blocking(end, False)
        self._open()
        self._thread = threading.Thread(target=self._run, name="simulated-modem", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Ends the thread and closes everything. Raises RuntimeError where the thread does not end."""
        thread, self._thread = self._thread, None
        if thread is None:
            return
        with self._lock:
            self._stopping = True
            self._wake()
        thread.join(STOP_SECONDS)
        if thread.is_alive():
            raise RuntimeError("the simulated modem's thread does not end")
        self._close()
        with self._lock:
            self._timers.clear()
            for end in self._pipe or ():
                os.close(end)
            self._pipe = None

    def send(self, data: bytes) -> None:
        """Queues bytes for the gateway; without a line they are lost."""
        with self._lock:
            if self._master is None:
                return
            self._out += data
            del self._out[:-KEPT_BYTES]
            self._wake()

    def after(self, seconds: float, call: Callable[[], None]) -> None:
        """Runs `call` on the thread, at the earliest after so many seconds."""
        with self._lock:
            heapq.heappush(self._timers, (self._clock.monotonic() + seconds, next(self._order), call))
            self._wake()

    def up(self) -> None:
        """A new pseudo-terminal under the same link; returns once it is there."""
        self._on_thread(self._open)

    def down(self) -> None:
        """The device goes away; whoever has it open sees the line hang up."""
        self._on_thread(self._close)

    def _on_thread(self, call: Callable[[], None]) -> None:
        if self._thread is None or threading.current_thread() is self._thread:
            call()
            return
        done = threading.Event()

        def run() -> None:
            call()
            done.set()

        self.after(0, run)
        if not done.wait(STOP_SECONDS):
            raise RuntimeError("the simulated modem's thread does not answer")

    def _open(self) -> None:
        if self._master is not None:
            return
        master, slave = os.openpty()
        tty.setraw(slave)
        os.set_blocking(master, False)
        with self._lock:
            self._master, self._slave, self._device = master, slave, os.ttyname(slave)
            self._out.clear()
        if self._link is not None:
            beside = self._link.with_name(f".{self._link.name}.new")
            beside.unlink(missing_ok=True)
            beside.symlink_to(self._device)
            beside.replace(self._link)

    def _close(self) -> None:
        with self._lock:
            ends, self._master, self._slave = (self._master, self._slave), None, None
            self._out.clear()
        if self._link is not None and self._link.is_symlink():
            self._link.unlink()
        for end in ends:
            if end is not None:
                os.close(end)

    def _wake(self) -> None:
        if self._pipe is not None:
            with contextlib.suppress(BlockingIOError):  # it is full: the thread wakes anyway
                os.write(self._pipe[1], b"!")

    def _run(self) -> None:
        while True:
            with self._lock:
                pause = self._run_timers()
                if self._stopping or self._pipe is None:
                    return
                woken, master = self._pipe[0], self._master
                writing, pause = self._may_write(pause)
            to_write = [master] if writing and master is not None else []
            ready = self._clock.select([woken] if master is None else [woken, master], pause, to_write)
            if woken in ready:
                os.read(woken, READ_BYTES)
            with self._lock:
                if master is not None and master in ready:
                    # it may be one or the other that it is ready for: neither waits, and a try costs nothing
                    self._read(master)
                    if to_write and self._master == master:
                        self._write()

    def _run_timers(self) -> float | None:
        """Runs what is due; seconds until the next, or None."""
        while self._timers and self._timers[0][0] <= self._clock.monotonic():
            heapq.heappop(self._timers)[2]()
        return max(0.0, self._timers[0][0] - self._clock.monotonic()) if self._timers else None

    def _may_write(self, pause: float | None) -> tuple[bool, float | None]:
        if not self._out:
            return False, pause
        wait = self._not_before - self._clock.monotonic()
        if wait <= 0:
            return True, pause
        return False, wait if pause is None else min(wait, pause)

    def _read(self, master: int) -> None:
        try:
            data = os.read(master, READ_BYTES)
        except OSError:
            return
        self._on_bytes(data)

    def _write(self) -> None:
        size, seconds = self._pace()
        try:
            written = os.write(self._master or -1, self._out[:size])
        except OSError:
            return
        del self._out[:written]
        self._not_before = self._clock.monotonic() + seconds if seconds else 0.0
