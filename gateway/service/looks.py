"""Whether what is due by time is looked at now: while messages leave one after the other it need not be after each."""

from collections.abc import Callable

LOOK_EVERY_S = 0.5
"""What is due while messages leave is late by no more than this."""


class Looks:
    """When the last look was, in monotonic seconds; `wake_in` brings the loop round for one that is owed."""

    def __init__(self, monotonic: Callable[[], float], wake_in: Callable[[float], None]) -> None:
        self._monotonic, self._wake_in = monotonic, wake_in
        self._last_s, self._owed = float("-inf"), False

    def wanted(self, *, busy: bool) -> bool:
        """A look now; or, while `busy`, one within half a second."""
        now_s = self._monotonic()
        if not busy or not 0 <= now_s - self._last_s < LOOK_EVERY_S:
            self._last_s, self._owed = now_s, False
            return True
        if not self._owed:
            self._owed = True
            self._wake_in(LOOK_EVERY_S)
        return False
