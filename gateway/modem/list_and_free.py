"""The slots of a modem's memories: listed (+CMGL), and freed (+CMGD) once what they hold is stored.

A slot's number is reused as soon as it is free, so it is read again (+CMGR) just before it is deleted, and only the same PDU goes; where it
reads otherwise, the listing of the whole memory tells whether it is gone.
Source: 3GPP TS 27.005 3.4.2, 3.4.3, 3.5.4.
"""

import threading
from collections import Counter
from collections.abc import Collection, Sequence

from gateway.errors import ModemRefused
from gateway.facts import HeldPdu
from gateway.modem.dialogue import Dialogue, Times
from gateway.modem.memories import STORED_REPORTS, Memories
from gateway.modem.parse_listing import MemoryListing, ResetSeen, arrival_in, listed_in
from gateway.modem.pdu import is_whole
from gateway.modem.pdu_mode import PduMode
from gateway.ports import Listed

INVALID_INDEX, UNKNOWN_ERROR = 321, 500
"""+CMS ERROR of an empty slot, or of an empty memory, on makes that have no better word for it (27.005 3.2.5)."""
TOLD_AGAIN_AFTER_S = 60.0
GONE = "it stands there no more"
BELIEVED_AFTER = 8
"""So often a PDU that is not as long as its header says, and no whole message by itself, is listed alike before it is told as it is. Two
were too few: cut at the same octet twice it was texted to people in hexadecimal."""


class Slots:
    """What stands in the memories."""

    def __init__(self, dialogue: Dialogue, memories: Memories, pdu_mode: PduMode, times: Times) -> None:
        self._dialogue, self._memories, self._pdu_mode, self._times = dialogue, memories, pdu_mode, times
        self._doubted: Counter[str] = Counter()
        self.unread: set[str] = set()

    @property
    def doubts(self) -> bool:
        """Whether the last listing showed what was hurt on the wire: it is worth looking again at once."""
        return bool(self._doubted)

    def list_all(self, announced: Collection[str] = ()) -> Listed:
        """Everything in every memory; with `announced` only in those. Raises ResetSeen, ModemSilent.

        Not complete while anything in them is doubted, for on a first listing that is complete verdicts of silence are built: the
        text in doubt may be the very sign of life.
        """
        held: list[HeldPdu] = []
        doubted: set[str] = set()
        complete = not announced
        if not announced:
            self._memories.choose_missing()
            complete = not self._memories.missing
        for memory in self._memories.to_look_into(announced):
            if not self._memories.select(memory):
                complete = complete and memory == STORED_REPORTS
                continue
            listing = self._list_memory(memory)
            if listing is None:
                complete = False
                self.unread.add(memory)
                continue
            self.unread.discard(memory)
            held.extend(listing.held)
            doubted |= listing.doubted
            self._memories.taken_by_own[memory] = listing.own
        if not announced:
            self._doubted = Counter({pdu: self._doubted[pdu] for pdu in doubted})
        self._doubted.update(doubted)
        if self._pdu_mode.echo_is_back:
            raise ResetSeen("the modem echoes again: it was reset")
        if held:
            self._pdu_mode.was_shown()
        return Listed(held=tuple(held), complete=complete and not doubted)

    def free(self, held: HeldPdu) -> tuple[bool, str]:
        """Deletes the slot only if it still holds the same PDU; (done, what the modem said). Raises ResetSeen, ModemSilent."""
        if held.slot is None:
            return True, ""
        if not self._memories.select(held.memory):
            return False, f"{held.memory} cannot be chosen"
        if not self._still_holds(held):
            return self._gone_from_listing(held)
        try:
            self._dialogue.command(f"AT+CMGD={held.slot}", within_s=self._times.command_s * 2)
        except ModemRefused as refused:
            return False, str(refused.raw or refused.said)
        return True, ""

    def _still_holds(self, held: HeldPdu) -> bool:
        """Whether the slot, read just now, shows this very PDU."""
        try:
            lines = self._dialogue.command(f"AT+CMGR={held.slot}", within_s=self._times.command_s)
        except ModemRefused:
            return False
        return (arrival_in(lines) or "").upper() == held.pdu.upper()

    def _gone_from_listing(self, held: HeldPdu) -> tuple[bool, str]:
        """Whether the memory, listed whole, shows this PDU in its slot no more; (gone, why).

        One reading is no proof: a command or an answer that lost a character on the wire looks like an empty slot, or like another text.
        What was taken for freed by it was listed again as new: in a soak one text came six times.
        """
        try:
            lines = self._dialogue.command("AT+CMGL=4", within_s=self._times.list_s)
        except ModemRefused as refused:
            gone = refused.code == INVALID_INDEX
            return gone, GONE if gone else str(refused.raw or refused.said)
        listing = listed_in(held.memory, lines, doubted=())
        if listing.doubted:
            return False, "its memory was hurt on the wire as it was listed"
        stands = any((entry.slot, entry.pdu.upper()) == (held.slot, held.pdu.upper()) for entry in listing.held)
        return not stands, "it stands there still, and was not read whole" if stands else GONE

    def _list_memory(self, memory: str) -> MemoryListing | None:
        """None where it could not be read. Some makes refuse to list a memory that holds nothing: by its own count it is empty then.

        A store that was not ready yet said the same, and a box whose texts stood in it was called silent.
        """
        try:
            lines = self._dialogue.command("AT+CMGL=4", within_s=self._times.list_s)
        except ModemRefused as refused:
            says_empty = refused.code in (INVALID_INDEX, UNKNOWN_ERROR) or refused.family == ""
            if says_empty and self._memories.count_used(memory) in (0, None if refused.code == INVALID_INDEX else 0):
                return MemoryListing(held=(), own=0, doubted=frozenset())
            return None
        return listed_in(memory, lines, doubted=self._believed())

    def _believed(self) -> frozenset[str]:
        """What was in doubt, and is taken as it is when it is listed alike once more: such a modem counts in its own way."""
        return frozenset(pdu for pdu, times in self._doubted.items() if times >= BELIEVED_AFTER or is_whole(pdu))


class RecentlyTold:
    """What of a memory was told, and when, so that a slot not yet freed is not told at every listing. From any thread.

    Times are monotonic seconds.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._told_at_s: dict[tuple[str, int | None, str], float] = {}

    def take_new(self, held: Sequence[HeldPdu], now_s: float, memories: Collection[str]) -> tuple[HeldPdu, ...]:
        """What was not told within a minute, now taken as told; what stands in these memories no more is forgotten."""
        with self._lock:
            long_ago_s = now_s - TOLD_AGAIN_AFTER_S
            new = tuple(pdu for pdu in held if self._told_at_s.get(_place(pdu), float("-inf")) <= long_ago_s)
            present = {_place(pdu) for pdu in held}
            kept = {
                place: told_at_s
                for place, told_at_s in self._told_at_s.items()
                if place in present or place[0] not in memories
            }
            self._told_at_s = kept | {_place(pdu): now_s for pdu in new}
            return new

    def forget(self, held: HeldPdu) -> None:
        """The slot was freed."""
        with self._lock:
            self._told_at_s.pop(_place(held), None)

    def forget_all(self) -> None:
        """Whatever stands there is told again."""
        with self._lock:
            self._told_at_s.clear()


def _place(held: HeldPdu) -> tuple[str, int | None, str]:
    return held.memory, held.slot, held.pdu
