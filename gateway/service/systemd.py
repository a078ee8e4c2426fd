"""What systemd wants to know → datagrams to the socket that it named, and one sign of life in memory for the next start.

A ping is sent only after the loop has come round (what is due and its commit have worked) and while the modem's thread has shown
itself lately: a hang of either lets the watchdog bite.
Source: sd_notify(3) (READY=1, RELOADING=1, STOPPING=1, STATUS=…, WATCHDOG=1; an abstract address starts with @). A dozen lines: no
library does less.
"""

import os
import socket
from datetime import datetime

from gateway.ports import Clock, Modem
from gateway.service.lifesign import LifeSign

READER_WITHIN_S = 150.0
"""The modem's thread shows itself at least once a sweep; longer than this it hangs."""


class Systemd:
    """What systemd is told of one daemon."""

    def __init__(self, clock: Clock, modem: Modem, life: LifeSign | None = None) -> None:
        self._clock = clock
        self._modem = modem
        self._life = life
        self._watchdog_s = watchdog_s()
        self._last_ping_s = float("-inf")

    @property
    def at_work_before(self) -> datetime | None:
        """When the process before this one was last at work; None: not known, the board itself was off."""
        return self._life.before if self._life is not None else None

    def say_ready(self) -> None:
        """The daemon works; its sign of life is there before anybody hears so."""
        self._give_sign()
        notify("READY=1\nSTATUS=at work")

    def say_reloading(self) -> None:
        """The configuration is being read again."""
        notify(f"RELOADING=1\nMONOTONIC_USEC={int(self._clock.monotonic() * 1_000_000)}")

    def say_stopping(self) -> None:
        """The daemon ends."""
        notify("STOPPING=1")

    def say_alive(self) -> None:
        """The loop came round."""
        self._give_sign()
        now_s = self._clock.monotonic()
        if self._watchdog_s is None or now_s - self._last_ping_s < self._watchdog_s / 4:
            return
        if now_s - self._modem.progress() < READER_WITHIN_S:
            notify("WATCHDOG=1")
            self._last_ping_s = now_s

    def wake_within_s(self, longest_s: float) -> float:
        """How soon the loop must come round again."""
        return longest_s if self._watchdog_s is None else min(longest_s, self._watchdog_s / 3)

    def _give_sign(self) -> None:
        if self._life is not None:
            self._life.give()


def notify(state: str) -> bool:
    """Sends the state; False where nobody asked for it."""
    address = os.environ.get("NOTIFY_SOCKET", "")
    if not address:
        return False
    if address.startswith("@"):
        address = "\0" + address[1:]
    try:
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_CLOEXEC) as line:
            line.sendto(state.encode(), address)
    except OSError:
        return False
    return True


def watchdog_s() -> float | None:
    """How often systemd wants a sign of life, in seconds; None: it does not."""
    asked_us = os.environ.get("WATCHDOG_USEC", "")
    return int(asked_us) / 1_000_000 if asked_us.isdecimal() and int(asked_us) else None
