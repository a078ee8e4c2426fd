"""What the gateway wants of its modem, asked for on any thread and taken by the modem's own, which is woken by it."""

import os
import threading
from collections import deque
from contextlib import suppress

from gateway.modem.link import drain
from gateway.ports import SendJob


class Jobs:
    """Messages to send and listings to make; `wake_descriptor` is readable while there is news."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._messages: deque[SendJob] = deque()
        self._listing_is_wanted = True
        self.wake_descriptor, self._wake_write = os.pipe()
        os.set_blocking(self.wake_descriptor, False)
        os.set_blocking(self._wake_write, False)

    @property
    def messages_wait(self) -> bool:
        """Whether there is a message to send."""
        return bool(self._messages)

    def want_listing(self) -> None:
        """Every memory is listed soon."""
        with self._lock:
            self._listing_is_wanted = True

    def take_listing_wanted(self) -> bool:
        """Whether a listing is wanted; from now on it is not."""
        with self._lock:
            wanted, self._listing_is_wanted = self._listing_is_wanted, False
        return wanted

    def add_message(self, message: SendJob) -> None:
        """It is sent in its turn."""
        with self._lock:
            self._messages.append(message)

    def take_message(self) -> SendJob | None:
        """The next message to send."""
        with self._lock:
            return self._messages.popleft() if self._messages else None

    def wake(self) -> None:
        """The modem's thread looks at once. A full pipe wakes as well, and one that is closed has nobody to wake."""
        with suppress(OSError):
            os.write(self._wake_write, b"!")

    def was_woken(self) -> None:
        """The wake-ups so far are seen to."""
        drain(self.wake_descriptor)

    def close(self) -> None:
        """Nobody can be woken any more."""
        os.close(self.wake_descriptor)
        os.close(self._wake_write)
