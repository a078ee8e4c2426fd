"""The memories that a modem keeps texts in: which there are, which one its commands go to, how much they hold.

The SIM ("SM") and the modem itself ("ME") are each read by themselves. Where one of them cannot be chosen for reading, both are read as one
("MT"), if the modem has that: new texts may well come into the one that cannot. Broadcasts ("BM") and reports ("SR") are no texts.
Source: 3GPP TS 27.005 3.2.2 (+CPMS).
"""

import re
from collections import Counter
from collections.abc import Collection, Sequence
from contextlib import suppress
from math import inf

from gateway.errors import ModemRefused
from gateway.facts import HeldPdu
from gateway.modem.grammar import lists_in
from gateway.modem.sim import PatientCommands
from gateway.ports import MemoryRoom

SIM_MEMORIES = ("SM", "ME")
BOTH_AS_ONE = "MT"
STORED_REPORTS = "SR"
SMALLEST_SIM_SLOTS = 10
MOST_SLOTS_THAT_WAIT = 20
"""What is still taken is listed again with each text that is announced."""


class Memories:
    """`names`: those that hold texts, the first of them takes new ones where the modem can be told so.

    `taken_by_own`: how many drafts and sent messages each was last listed with. `used`: how many texts each said to hold when it was
    last chosen; None: it did not say. `missing`: offered by name, and refused when it was chosen.
    """

    def __init__(self, commands: PatientCommands) -> None:
        self._commands = commands
        self._current = ""
        self._capacity: dict[str, int] = {}
        self.names: tuple[str, ...] = ()
        self.reports_are_stored = False
        self.taken_by_own: dict[str, int] = {}
        self.used: dict[str, int | None] = {}
        self.missing: tuple[str, ...] = ()

    def choose(self) -> tuple[str, ...]:
        """Finds them; what is worth a remark. Raises ModemRefused where there is none."""
        offered, remarks = self._offered()
        usable = self._usable(offered)
        if not usable:
            # the store of texts may not be ready yet: the first of them is waited for
            self._commands.ask_while_starting(f'AT+CPMS="{offered[0] if offered else SIM_MEMORIES[0]}"')
            self._current = ""
            usable = self._usable(offered)
        if not usable:
            raise ModemRefused(f"no memory for texts can be chosen ({', '.join(SIM_MEMORIES)})")
        self.names = usable
        first = usable[0]
        if self._commands.are_granted(f'AT+CPMS="{first}","{first}","{first}"'):
            self._current = first
        return remarks

    def choose_missing(self) -> None:
        """What was offered and not to be had may be there by now: it is read from now on."""
        for name in self.missing:
            if self.select(name):
                self.names = (*self.names, name)
        self.missing = tuple(name for name in self.missing if name not in self.names)

    def _usable(self, offered: Sequence[str]) -> tuple[str, ...]:
        """Those of SM and ME that can be chosen; MT where one of the two cannot."""
        alone = tuple(name for name in SIM_MEMORIES if (name in offered or not offered) and self.select(name))
        self.missing = tuple(name for name in SIM_MEMORIES if name in offered and name not in alone)
        if len(alone) < len(SIM_MEMORIES) and BOTH_AS_ONE in offered and self.select(BOTH_AS_ONE):
            self.missing = ()
            return (BOTH_AS_ONE,)
        return alone

    def _offered(self) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """The memories to read from, by name; none named: not known."""
        try:
            lines = self._commands.ask("AT+CPMS=?")
        except ModemRefused:
            return (), ("+CPMS=? was refused: SM and ME are both tried",)
        lists = lists_in(lines[0].partition(":")[2]) if lines else []
        # a list without brackets names one memory, or all there are: then the others tell the more
        named = lists[0] if lists and len(lists[0]) > 1 else [name for names in lists for name in names]
        return tuple(dict.fromkeys(named)), ()

    def select(self, memory: str) -> bool:
        """From now on commands go to it; False where the modem refuses."""
        if self._current == memory:
            return True
        # unknown until the answer is here: a modem that answers too late did it all the same, and its texts
        # would be listed, and its slots freed, under another memory's name
        before, self._current = self._current, ""
        try:
            lines = self._commands.ask(f'AT+CPMS="{memory}"')
        except ModemRefused:
            self._current = before
            return False
        self._current = memory
        self._capacity[memory], self.used[memory] = capacity_in(lines), used_in(lines)
        return True

    def count_used(self, memory: str) -> int | None:
        """How many texts it holds by its own account, asked anew; None: it does not say."""
        self._current = ""
        with suppress(ModemRefused):
            if self.select(memory):
                return self.used[memory]
        return None

    def to_look_into(self, announced: Collection[str]) -> tuple[str, ...]:
        """Those announced; all of them where none was, or one that is not known."""
        known = (*self.names, *((STORED_REPORTS,) if self.reports_are_stored else ()))
        return (
            tuple(name for name in known if name in announced) if announced and set(announced) <= set(known) else known
        )

    def full(self, held: Sequence[HeldPdu]) -> frozenset[str]:
        """Those of which so much was listed that no further text fits in."""
        taken = Counter(pdu.memory for pdu in held)
        return frozenset(name for name, count in taken.items() if count >= self._room_for_arrivals(name))

    @property
    def slots_that_may_wait(self) -> int:
        """So many may stay taken while messages leave: never more than half of the smallest memory."""
        rooms = (int(self._room_for_arrivals(name)) // 2 for name, total in self._capacity.items() if total)
        return max(0, min((MOST_SLOTS_THAT_WAIT, *rooms)))

    def rooms(self, stuck: Collection[HeldPdu], unread: Collection[str]) -> tuple[MemoryRoom, ...]:
        """Of each memory what takes its slots for good; `stuck` could not be freed, `unread` could not be listed."""
        return tuple(
            MemoryRoom(
                name=name,
                total=self._capacity.get(name) or None,
                own=self.taken_by_own.get(name, 0),
                stuck=sum(pdu.memory == name for pdu in stuck),
                is_read=name not in unread,
            )
            for name in self.names
        )

    def _room_for_arrivals(self, memory: str) -> float:
        """So many texts that come it has slots for: drafts and sent messages stay where they are."""
        return (self._capacity.get(memory) or inf) - self.taken_by_own.get(memory, 0)


def memory_in(line: str) -> str:
    """`+CMTI: "SM",3` → SM; empty where it names none."""
    name = re.search(r'"([A-Z]{2})"', line)
    return name[1] if name else ""


def capacity_in(lines: Sequence[str]) -> int:
    """The answer to +CPMS → how many texts its first memory holds; that of the smallest SIMs where it does not say (27.005 3.2.2)."""
    figures = _figures(lines)
    return figures[1] if len(figures) > 1 else SMALLEST_SIM_SLOTS


def used_in(lines: Sequence[str]) -> int | None:
    """The answer to +CPMS → how many texts stand in its first memory; None where it does not say."""
    figures = _figures(lines)
    return figures[0] if len(figures) > 1 else None


def _figures(lines: Sequence[str]) -> list[int]:
    return [int(figure) for figure in re.findall(r"\d+", lines[0].partition(":")[2])] if lines else []
