"""The SIM and the memories of the simulated modem: what is locked, what stands in which slot.

Source: 3GPP TS 27.007 8.3 and 9.2 (+CPIN, +CME ERROR), 27.005 3.2.5 (+CMS ERROR).
"""

from dataclasses import dataclass, field
from typing import Literal

from gateway.simulator.habits import Habits

SimState = Literal["ready", "SIM PIN", "SIM PUK", "absent"]
NO_SIM, PIN_WANTED, PUK_WANTED, SIM_BUSY, WRONG_PASSWORD, NOT_ALLOWED = 10, 11, 12, 14, 16, 3
"""+CME ERROR codes."""
CMS_OF_CME = {NO_SIM: 310, PIN_WANTED: 311, PUK_WANTED: 316, SIM_BUSY: 314}


class Refused(Exception):
    """A command is refused: `family` "CME" or "CMS" and its code, or "" for a plain ERROR; said after `after_s`. `said`: in just these words."""

    def __init__(
        self, family: Literal["CME", "CMS", ""] = "", code: int = 0, *, after_s: float = 0.0, said: str = ""
    ) -> None:
        super().__init__(f"+{family} ERROR: {code}" if family else "ERROR")
        self.family = family
        self.code = code
        self.after_s = after_s
        self.said = said


@dataclass(slots=True, kw_only=True)
class SimCard:
    """`number`: its own, where the operator wrote it.

    `pins_tried`: every PIN that was given to it. `tries_left` goes down with each wrong one, 0 wants the PUK.
    """

    state: SimState = "ready"
    pin: str = ""
    number: str = ""
    tries_left: int = 3
    pins_tried: list[str] = field(default_factory=list)

    def want_pin(self, pin: str, tries_left: int = 3) -> None:
        """From now on, and after each reset, this PIN is wanted; with no tries left, the PUK."""
        self.pin, self.tries_left = pin, tries_left
        self.power_up()

    def remove(self) -> None:
        """Out of its holder."""
        self.state = "absent"

    def insert(self) -> None:
        """Back in: locked where a PIN or PUK is wanted."""
        self.state = "ready"
        self.power_up()

    def power_up(self) -> None:
        """After power-up and reset a PIN is wanted again."""
        if self.state != "absent" and self.pin:
            self.state = "SIM PIN" if self.tries_left > 0 else "SIM PUK"

    def unlock(self, pin: str) -> None:
        """AT+CPIN=. Raises Refused."""
        self.pins_tried.append(pin)
        if self.state == "absent":
            raise Refused("CME", NO_SIM)
        if self.state == "ready":
            raise Refused("CME", NOT_ALLOWED)
        if self.state == "SIM PUK":
            raise Refused("CME", PUK_WANTED)
        if pin != self.pin:
            self.tries_left -= 1
            if self.tries_left <= 0:
                self.state = "SIM PUK"
                raise Refused("CME", PUK_WANTED)
            raise Refused("CME", WRONG_PASSWORD)
        self.state, self.tries_left = "ready", 3

    def trouble(self) -> int | None:
        """The +CME ERROR code of its state, or None where it is ready."""
        return {"ready": None, "absent": NO_SIM, "SIM PIN": PIN_WANTED, "SIM PUK": PUK_WANTED}[self.state]


@dataclass(slots=True, kw_only=True)
class Held:
    """What a slot holds; `stat` 0: unread, 1: read, 2: a draft, 3: a message that was sent (27.005 3.1, <stat>)."""

    pdu: str
    stat: int = 0

    def mark_read(self) -> None:
        """It was shown; a draft stays a draft."""
        self.stat = self.stat or 1


class Memories:
    """Slots by memory. A slot number is reused as soon as it is free."""

    def __init__(self, habits: Habits) -> None:
        self._habits = habits
        self._slots: dict[str, dict[int, Held]] = {name: {} for name in habits.memories}
        self._turn = 0

    def of(self, memory: str) -> dict[int, Held]:
        """Slot → what it holds, in order."""
        return dict(sorted(self._slots[memory].items()))

    def known(self, memory: str) -> bool:
        """Whether there is such a memory."""
        return memory in self._slots

    def total(self, memory: str) -> int:
        """How many slots it has."""
        return self._habits.capacity.get(memory, 20)

    def place_for_new(self, chosen: str) -> str | None:
        """The memory a new text goes to, or None where there is no room."""
        wanted = {"chosen": (chosen,), "both": self._by_turns()}.get(
            self._habits.new_texts_in, (self._habits.new_texts_in,)
        )
        rooms = [name for name in wanted if self.known(name) and len(self._slots[name]) < self.total(name)]
        return rooms[0] if rooms else None

    def put(self, memory: str, pdu: str, stat: int = 0) -> int:
        """The lowest free slot takes it."""
        first = self._habits.first_slot
        slot = next(n for n in range(first, first + self.total(memory)) if n not in self._slots[memory])
        self._slots[memory][slot] = Held(pdu=pdu, stat=stat)
        return slot

    def replace(self, memory: str, slot: int, pdu: str, stat: int = 0) -> None:
        """Whatever the slot held, it holds this now."""
        self._slots[memory][slot] = Held(pdu=pdu, stat=stat)

    def free(self, memory: str, slot: int) -> None:
        """Empties it; an empty one stays empty."""
        self._slots[memory].pop(slot, None)

    def has_slot(self, memory: str, slot: int) -> bool:
        """Whether such a slot exists at all."""
        return self._habits.first_slot <= slot < self._habits.first_slot + self.total(memory)

    def all(self) -> dict[tuple[str, int], str]:
        """(memory, slot) → PDU."""
        return {(name, slot): held.pdu for name in self._slots for slot, held in self.of(name).items()}

    def _by_turns(self) -> tuple[str, ...]:
        names = self._habits.memories
        self._turn += 1
        start = (self._turn - 1) % len(names)
        return names[start:] + names[:start]
