"""Slots whose texts are stored: freed when no message waits, or when too many are taken.

Messages go first, and right after one the next comes, if there is one: nothing is freed in that moment either. But a memory that is
full takes no text any more: what a sweep found in it is freed before anything is sent. Not for ever, though: where the texts cannot
be stored, somebody must be told so.
"""

from collections import deque
from collections.abc import Sequence

from gateway.facts import HeldPdu

NEXT_MESSAGE_WITHIN_S = 0.05
DRAINED_WITHIN_S = 10.0


class Frees:
    """Added to from any thread, taken from by the modem's. Times are monotonic seconds."""

    def __init__(self) -> None:
        self._waiting: deque[HeldPdu] = deque()
        self._next_message_by_s = float("-inf")
        self._owed: set[HeldPdu] = set()
        self._drained_by_s = float("-inf")

    def add(self, held: Sequence[HeldPdu]) -> None:
        """They may be freed."""
        self._waiting.extend(held)

    def message_ended(self, now_s: float) -> None:
        """The next one may follow at once."""
        self._next_message_by_s = now_s + NEXT_MESSAGE_WITHIN_S

    def drain(self, held: Sequence[HeldPdu], now_s: float) -> None:
        """These fill a memory."""
        if held:
            self._owed.update(held)
            self._drained_by_s = now_s + DRAINED_WITHIN_S

    def ended(self, held: HeldPdu) -> None:
        """It was freed, or the modem would not."""
        self._owed.discard(held)

    def draining(self, now_s: float) -> bool:
        """Whether messages wait for slots."""
        return bool(self._owed) and now_s < self._drained_by_s

    def take(self, now_s: float, *, messages_wait: bool, may_wait: int) -> HeldPdu | None:
        """The next one to free now."""
        later = (messages_wait or now_s < self._next_message_by_s) and not self.draining(now_s)
        if not self._waiting or (later and len(self._waiting) <= may_wait):
            return None
        return self._waiting.popleft()

    def due_s(self, now_s: float) -> float:
        """When to ask again, if nothing else comes."""
        if self.draining(now_s):
            return self._drained_by_s
        return self._next_message_by_s if self._waiting else float("inf")
