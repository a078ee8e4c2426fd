"""Room for texts in the modem's memories → a trouble before there is none, and one where they cannot be read at all.

What fills a memory for good (drafts and sent messages of whoever had the SIM before, slots that the modem will not free) leaves the gateway
deaf one day, without a word: no text can come any more, and nothing says so.
"""

from collections.abc import Sequence

from gateway.handlers.gateway_health import begin_trouble, end_trouble
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import MemoryRoom
from gateway.status.memory_room import is_nearly_full, room_in


def watch_memories(unit: UnitOfWork, memories: Sequence[MemoryRoom]) -> None:
    """What the modem said of its memories; nothing where it said nothing."""
    if not memories:
        return
    rooms = [room for room in map(room_in, memories) if room is not None]
    if any(map(is_nearly_full, memories)):
        begin_trouble(unit, "memory-full", {"count": str(max(0, min(rooms)))})
    else:
        end_trouble(unit, "memory-full", "memory-free", {})
    unread = [memory.name for memory in memories if not memory.is_read]
    if unread:
        begin_trouble(unit, "memory-unread", {"why": ", ".join(unread)})
    else:
        end_trouble(unit, "memory-unread", "memory-read", {})
