"""A serial device → bytes in and out, in blocks, on one thread, waking at once when there is something to do.

The one door to pyserial. Opens exclusively; reads what is there (never byte by byte); every failure is a ModemTrouble.
Raises: ModemGone (not there, unplugged), ModemHeld (another program has it).
"""

import errno
import os
import select
import termios
from collections.abc import Callable, Sequence

import serial

from gateway.errors import ModemGone, ModemHeld, ModemSilent

BLOCK_OCTETS = 4096
WRITE_WITHIN_S = 10.0
HELD = (errno.EBUSY, errno.EAGAIN, errno.EACCES)


Wait = Callable[[Sequence[int], float | None], list[int]]
"""Descriptors and seconds → which can be read (`Clock.select`)."""


def _wait(reading: Sequence[int], timeout_s: float | None) -> list[int]:
    return select.select(reading, [], [], timeout_s)[0]


class Link:
    """An open line; `wake` is a descriptor that ends a wait early, `wait` how it waits."""

    def __init__(self, device: str, baud: int, wake: int, wait: Wait = _wait) -> None:
        self._device = device
        self._wake = wake
        self._wait = wait
        try:
            self._serial = serial.Serial(
                device, baud, timeout=0, write_timeout=WRITE_WITHIN_S, exclusive=True, rtscts=False, xonxoff=False
            )
        # termios has an error of its own, which is no OSError: of a modem that went away while it was opened the thread died, and nobody
        # listened any more
        except (serial.SerialException, OSError, ValueError, termios.error) as error:
            raise _not_opened(device, error) from None

    def read(self, timeout_s: float, *, wakeable: bool = False) -> bytes:
        """What came within the time; empty if nothing did (or, `wakeable`, if somebody woke us)."""
        watched = [self._serial.fileno(), self._wake] if wakeable else [self._serial.fileno()]
        try:
            ready = self._wait(watched, max(0.0, timeout_s))
            if self._serial.fileno() not in ready:
                return b""
            return bytes(self._serial.read(BLOCK_OCTETS))
        # TypeError is pyserial's own, where the descriptor is gone by then
        except (serial.SerialException, OSError, ValueError, TypeError) as error:
            raise ModemGone(f"the modem at {self._device} went away", raw=str(error)) from None

    def write(self, data: bytes) -> None:
        """Everything leaves, or an error says so."""
        try:
            self._serial.write(data)
        except serial.SerialTimeoutException:
            raise ModemSilent(f"the modem at {self._device} takes no bytes") from None
        except (serial.SerialException, OSError, TypeError) as error:
            raise ModemGone(f"the modem at {self._device} went away", raw=str(error)) from None

    def close(self) -> None:
        """Gives the line back."""
        try:
            self._serial.close()
        except (serial.SerialException, OSError) as error:
            raise ModemGone(f"the modem at {self._device} went away", raw=str(error)) from None


def drain(descriptor: int) -> None:
    """Empties the wake pipe."""
    try:
        while os.read(descriptor, BLOCK_OCTETS):
            pass
    except BlockingIOError:
        pass


def _not_opened(device: str, error: Exception) -> ModemGone | ModemHeld:
    reason = str(error)
    if getattr(error, "errno", None) in HELD or "exclusively lock" in reason:
        return ModemHeld(f"another program holds {device} (or it may not be opened: {reason})", raw=reason)
    return ModemGone(f"there is no modem at {device}", raw=reason)
