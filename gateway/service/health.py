"""Progress of tick, reader and commit → signs of life to systemd's watchdog, and one in memory for the next start.

A ping is sent only after the loop has come round (tick and commit have worked) and while the modem's thread has shown
itself lately: a hang of either lets the watchdog bite.
"""

from datetime import datetime

from gateway.ports import Clock, Modem
from gateway.service.lifesign import LifeSign
from gateway.service.notify import notify, watchdog_s

READER_WITHIN_S = 150.0
"""The modem's thread shows itself at least once a sweep; longer than this it hangs."""


class Health:
    """What systemd is told."""

    def __init__(self, clock: Clock, modem: Modem, life: LifeSign | None = None) -> None:
        self._clock = clock
        self._modem = modem
        self._life = life
        self._watchdog = watchdog_s()
        self._last_ping_s = float("-inf")

    @property
    def at_work_before(self) -> datetime | None:
        """When the process before this one was last at work; None: not known, the board itself was off."""
        return self._life.before if self._life is not None else None

    def ready(self) -> None:
        """The daemon works; its sign of life is there before anybody hears so."""
        self._give_sign()
        notify("READY=1\nSTATUS=at work")

    def reloading(self) -> None:
        """The configuration is being read again."""
        notify(f"RELOADING=1\nMONOTONIC_USEC={int(self._clock.monotonic() * 1_000_000)}")

    def stopping(self) -> None:
        """The daemon ends."""
        notify("STOPPING=1")

    def alive(self) -> None:
        """The loop came round."""
        self._give_sign()
        now = self._clock.monotonic()
        if self._watchdog is None or now - self._last_ping_s < self._watchdog / 4:
            return
        if now - self._modem.progress() < READER_WITHIN_S:
            notify("WATCHDOG=1")
            self._last_ping_s = now

    def wake_within_s(self) -> float:
        """How soon the loop must come round again."""
        return 60.0 if self._watchdog is None else min(60.0, self._watchdog / 3)

    def _give_sign(self) -> None:
        if self._life is not None:
            self._life.give()
