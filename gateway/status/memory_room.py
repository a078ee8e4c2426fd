"""A memory of the modem → how many more texts fit in, and whether somebody must see to it."""

from gateway.ports import MemoryRoom

LEAST_ROOM, LEAST_SHARE = 2, 0.2
"""A text of three parts needs three slots; the smallest SIMs have ten."""


def room_in(memory: MemoryRoom) -> int | None:
    """So many slots are not taken for good; None: the modem does not say how many it has."""
    return memory.total - memory.own - memory.stuck if memory.total is not None else None


def is_nearly_full(memory: MemoryRoom) -> bool:
    """Whether so much is taken for good that texts will soon not come any more."""
    room = room_in(memory)
    taken = memory.own + memory.stuck
    return (
        room is not None
        and taken > 0
        and memory.total is not None
        and room <= max(LEAST_ROOM, LEAST_SHARE * memory.total)
    )
