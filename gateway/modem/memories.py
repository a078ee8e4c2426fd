"""The memories that a modem keeps texts in: which there are, which one its commands go to, how much they hold.

Source: 3GPP TS 27.005 3.2.2 (+CPMS).
"""

import re
from collections import Counter
from collections.abc import Collection, Sequence
from math import inf

from gateway.errors import ModemRefused
from gateway.facts import HeldPdu
from gateway.modem.sim import PatientCommands

SIM_MEMORIES = ("SM", "ME")
STORED_REPORTS = "SR"
SMALLEST_SIM_SLOTS = 10
MOST_SLOTS_THAT_WAIT = 20
"""What is still taken is listed again with each text that is announced."""


class Memories:
    """`names`: those that hold texts, the first of them takes new ones where the modem can be told so.

    `taken_by_own`: how many drafts and sent messages each was last listed with.
    """

    def __init__(self, commands: PatientCommands) -> None:
        self._commands = commands
        self._current = ""
        self._capacity: dict[str, int] = {}
        self.names: tuple[str, ...] = ()
        self.reports_are_stored = False
        self.taken_by_own: dict[str, int] = {}

    def choose(self) -> tuple[str, ...]:
        """Finds them; what is worth a remark. Raises ModemRefused where there is none."""
        offered, remarks = self._offered()
        usable = [name for name in offered if self.select(name)]
        if not usable:
            raise ModemRefused(f"no memory for texts can be chosen ({', '.join(SIM_MEMORIES)})")
        self.names = tuple(usable)
        first = usable[0]
        if self._commands.are_granted(f'AT+CPMS="{first}","{first}","{first}"'):
            self._current = first
        return remarks

    def _offered(self) -> tuple[tuple[str, ...], tuple[str, ...]]:
        try:
            lines = self._commands.ask("AT+CPMS=?")
        except ModemRefused:
            return SIM_MEMORIES, ("+CPMS=? was refused: SM and ME are both tried",)
        named = set(re.findall(r'"([A-Z]{2})"', lines[0])) if lines else set()
        return tuple(name for name in SIM_MEMORIES if name in named) or SIM_MEMORIES, ()

    def select(self, memory: str) -> bool:
        """From now on commands go to it; False where the modem refuses."""
        if self._current == memory:
            return True
        # unknown until the answer is here: a modem that answers too late did it all the same, and its texts
        # would be listed, and its slots freed, under another memory's name
        before, self._current = self._current, ""
        try:
            self._capacity[memory] = capacity_in(self._commands.ask(f'AT+CPMS="{memory}"'))
        except ModemRefused:
            self._current = before
            return False
        self._current = memory
        return True

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
        return min((MOST_SLOTS_THAT_WAIT, *(int(self._room_for_arrivals(name)) // 2 for name in self._capacity)))

    def _room_for_arrivals(self, memory: str) -> float:
        """So many texts that come it has slots for: drafts and sent messages stay where they are."""
        return self._capacity.get(memory, inf) - self.taken_by_own.get(memory, 0)


def memory_in(line: str) -> str:
    """`+CMTI: "SM",3` → SM; empty where it names none."""
    name = re.search(r'"([A-Z]{2})"', line)
    return name[1] if name else ""


def capacity_in(lines: Sequence[str]) -> int:
    """The answer to +CPMS → how many texts its first memory holds; that of the smallest SIMs where it does not say (27.005 3.2.2)."""
    figures = re.findall(r"\d+", lines[0]) if lines else []
    return int(figures[1]) if len(figures) > 1 else SMALLEST_SIM_SLOTS
