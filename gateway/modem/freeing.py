"""Slots whose texts are stored: freed when no message waits, or when too many are taken.

Messages go first, and right after one the next comes, if there is one: nothing is freed in that moment either. But a memory that is
full takes no text any more: what a sweep found in it is freed before anything is sent. Not for ever, though: where the texts cannot
be stored, somebody must be told so. However often they are listed again meanwhile, the time is over when none of them was freed in it.
"""

from collections import deque
from collections.abc import Collection, Sequence

from gateway.facts import HeldPdu

NEXT_MESSAGE_WITHIN_S = 0.05
DRAINED_WITHIN_S = 10.0


class FreeQueue:
    """Slots to free. Added to from any thread, taken from by the modem's. Times are monotonic seconds."""

    def __init__(self) -> None:
        self._waiting: deque[HeldPdu] = deque()
        self._wanted: set[HeldPdu] = set()
        self._next_message_by_s = float("-inf")
        self._owed: set[HeldPdu] = set()
        self._drained_by_s = float("-inf")

    def add(self, held: Sequence[HeldPdu]) -> None:
        """They may be freed; each once, or a second time would free what came into the slot after the first."""
        for pdu in held:
            if pdu not in self._wanted:
                self._wanted.add(pdu)
                self._waiting.append(pdu)

    def message_ended(self, now_s: float) -> None:
        """The next one may follow at once."""
        self._next_message_by_s = now_s + NEXT_MESSAGE_WITHIN_S

    def drain(
        self, new: Sequence[HeldPdu], listed: Collection[HeldPdu], memories: Collection[str], now_s: float
    ) -> None:
        """`new` fill a memory. What did so before and is not `listed` in its memory any more is owed no more."""
        still_owed = {pdu for pdu in self._owed if pdu.memory not in memories or pdu in listed}
        if not still_owed:
            self._drained_by_s = now_s + DRAINED_WITHIN_S
        self._owed = still_owed | set(new)

    def ended(self, held: HeldPdu, now_s: float) -> None:
        """It was freed, or the modem would not: the others are coming."""
        if held in self._owed:
            self._owed.discard(held)
            self._drained_by_s = now_s + DRAINED_WITHIN_S

    def draining(self, now_s: float) -> bool:
        """Whether messages wait for slots."""
        return bool(self._owed) and now_s < self._drained_by_s

    def take(self, now_s: float, *, messages_wait: bool, may_wait: int) -> HeldPdu | None:
        """The next one to free now."""
        later = (messages_wait or now_s < self._next_message_by_s) and not self.draining(now_s)
        if not self._waiting or (later and len(self._waiting) <= may_wait):
            return None
        held = self._waiting.popleft()
        self._wanted.discard(held)
        return held

    def due_s(self, now_s: float) -> float:
        """When to ask again, if nothing else comes."""
        if self.draining(now_s):
            return self._drained_by_s
        return self._next_message_by_s if self._waiting else float("inf")
