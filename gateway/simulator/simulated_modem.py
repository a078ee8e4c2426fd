"""AT commands over a pseudo-terminal ↔ a simulated network: a modem that behaves, or misbehaves, as it is told.

A gateway opens `device` like any serial port. Everything happens on one thread that sleeps until there is something to
do; one lock guards all of it, so that a test may call anything from its own thread.
"""

import random
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from types import TracebackType
from typing import Self

from gateway.clock import SystemClock
from gateway.ports import Clock
from gateway.simulator.command_line import CommandLine
from gateway.simulator.habits import Faults, Habits
from gateway.simulator.modem_state import ModemState
from gateway.simulator.network import Network
from gateway.simulator.pdus import deliver_pdus, tpdu_octets
from gateway.simulator.pseudo_terminal import READ_BYTES, PseudoTerminal
from gateway.simulator.sim_card import Memories, SimCard

LINE_ENDS = {
    "both": ("\r\n", "\r\n"),
    "after": ("", "\r\n"),
    "doubled": ("\r\r\n", "\r\r\n"),
    "cr": ("\r", "\r"),
    "lf": ("\n", "\n"),
    "spaced": ("\r\n", "\r\n\r\n"),
}
"""What stands before and behind each line, by the habit's name."""
BITS_PER_BYTE = 10
"""Start, eight data, stop."""
PACED_S = 0.002
SLOW_BYTE_S = 0.0001

XON, XOFF = b"\x11", b"\x13"


class SimulatedModem:
    """`link`: a stable path that leads to whatever pseudo-terminal there is now. `seed` repeats the random faults.

    `commands`: every AT line received. `network`: what people see of it. `sim`, `faults`: to be changed at any time.
    """

    def __init__(
        self,
        link: str | None = None,
        *,
        habits: Habits | None = None,
        faults: Faults | None = None,
        seed: int = 0,
        now: Callable[[], datetime] | None = None,
        clock: Clock | None = None,
    ) -> None:
        self.habits, self.faults, self.sim = habits or Habits(), faults or Faults(), SimCard()
        self._lock = threading.RLock()
        self._chance = random.Random(f"{seed} lines")
        self._chance_in, self._chance_out = random.Random(f"{seed} in"), random.Random(f"{seed} out")
        self._terminal = PseudoTerminal(link, self._lock, self._heard, self._pace, clock or SystemClock())
        self.network = Network(self._lock, now or _network_time, self._terminal.after)
        self.network.constant_reference = self.habits.constant_reference
        self._memories = Memories(self.habits)
        self._state = ModemState(
            habits=self.habits,
            faults=self.faults,
            sim=self.sim,
            memories=self._memories,
            network=self.network,
            reset=self.reset,
            say=self.say,
            later=lambda seconds, call: self._terminal.after(seconds, call) if seconds > 0 else call(),
        )
        self._state.power_up()
        self._command_line = CommandLine(self._state, self._put_answer, self._put, self._terminal.after)
        self._waking = 0
        self.network.take = self._take
        self.network.report = self._report
        self.network.zero_discharge = lambda: self.faults.zero_discharge

    # --- life ---

    def start(self) -> None:
        """Powered up and plugged in."""
        self._terminal.start()
        with self._lock:
            self._power_up()
        if self.habits.own_every_s > 0:
            self._terminal.after(self.habits.own_every_s, self._say_own)

    def stop(self) -> None:
        """The device is gone then. Twice is once."""
        self._terminal.stop()

    def __enter__(self) -> Self:
        self.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.stop()

    @property
    def device(self) -> str:
        """What the gateway opens."""
        return self._terminal.device

    def unplug(self) -> None:
        """The device goes away; texts wait in the network."""
        self._terminal.down()

    def plug(self) -> None:
        """It comes back, on another pseudo-terminal under the same link, powered up afresh."""
        self._terminal.up()
        with self._lock:
            self._power_up()

    def reset(self) -> None:
        """Starts afresh without going away: echo, text mode and all settings are back."""
        with self._lock:
            self._power_up()
            for line in (*filter(None, (self.habits.boot_line,)), *self.habits.boot_lines):
                self.say(line)

    def wake(self) -> None:
        """Awake now, whatever its habit."""
        with self._lock:
            self._state.awake = True
            self.network.bring_waiting()

    # --- what a test looks at and does ---

    @property
    def commands(self) -> list[str]:
        """Every AT line received, in order (a copy)."""
        with self._lock:
            return list(self._command_line.commands)

    @property
    def slots(self) -> dict[tuple[str, int], str]:
        """(memory, slot) → PDU (a copy)."""
        with self._lock:
            return self._memories.all()

    @property
    def pin_tries(self) -> int:
        """How often a PIN was given to the SIM."""
        return len(self.sim.pins_tried)

    @property
    def wants_text(self) -> bool:
        """Whether a prompt stands open."""
        with self._lock:
            return self._command_line.wants_text

    @contextmanager
    def at_once(self) -> Iterator[None]:
        """What is delivered or said in here leaves in one write. Do not plug or unplug in here."""
        with self._lock:
            yield

    def say(self, line: str) -> None:
        """An unsolicited line, now."""
        with self._lock:
            self._put(self._framed([line]))

    def say_bytes(self, data: bytes) -> None:
        """These bytes, now, whatever they are."""
        self._terminal.send(data)

    def put(self, memory: str, pdu: str, slot: int | None = None, *, stat: int = 0) -> int:
        """Into a slot without an announcement (`slot` None: the first free one); the slot. `stat` 2: a draft, 3: a sent message."""
        with self._lock:
            if slot is None:
                return self._memories.put(memory, pdu, stat)
            self._memories.replace(memory, slot, pdu, stat)
            return slot

    def fill(self, memory: str, *, leave: int = 0, sender: str = "+61491570158") -> int:
        """Fills the memory up to `leave` free slots with texts of their own; how many they were."""
        with self._lock:
            room = self._memories.total(memory) - len(self._memories.of(memory)) - leave
            for number in range(room):
                self.put(memory, deliver_pdus(sender, f"Filling {number + 1}", self.network.now())[0])
            return max(0, room)

    # --- how it works ---

    def _power_up(self) -> None:
        self._state.power_up()
        self._command_line.forget()
        self._waking += 1
        turn = self._waking
        self._state.store_is_ready = self.habits.store_after_s <= 0
        if not self._state.store_is_ready:
            self._terminal.after(
                self.habits.store_after_s, lambda: self._store_ready() if turn == self._waking else None
            )
        if self._state.awake:
            self.network.bring_waiting()
        else:
            self._terminal.after(self.habits.wake_seconds, lambda: self.wake() if turn == self._waking else None)

    def _store_ready(self) -> None:
        self._state.store_is_ready = True
        self.network.bring_waiting()

    def _say_own(self) -> None:
        for line in self.habits.own_lines if not self._state.is_mute else ():
            self.say(line)
        self._terminal.after(self.habits.own_every_s, self._say_own)

    def _take(self, pdu: str) -> bool:
        """A text from the network: True once it is in a slot, or was shown."""
        if not self._terminal.is_up or not self._state.is_ready:
            return False
        if self._state.cnmi[1] == 2:
            self._announce(f"+CMT: {self.habits.before_length}{_length(pdu)}", pdu)
            return True
        memory = self._memories.place_for_new(self._state.chosen[2])
        if memory is None:
            return False
        slot = self._memories.put(memory, pdu)
        if self._state.cnmi[1] == 1:
            self._announce(f'+CMTI: "{memory}",{slot}')
        return True

    def _report(self, pdu: str) -> None:
        wanted = self._state.cnmi[3]
        if wanted == 1:
            self._announce(f"+CDS: {_length(pdu)}", pdu)
        elif wanted == 2:
            memory = self._memories.place_for_new(self._state.chosen[2])
            if memory is not None:
                self._announce(f'+CDSI: "{memory}",{self._memories.put(memory, pdu)}')

    def _announce(self, *lines: str) -> None:
        if self._chance.random() >= self.faults.lost_announcements and not self._state.is_mute:
            self._put(self._framed(lines))

    def _heard(self, data: bytes) -> None:
        rate = self.faults.loss_in
        self._command_line.feed(bytes(byte for byte in data if rate <= 0 or self._chance_in.random() >= rate))

    def _put_answer(self, lines: Iterable[str]) -> None:
        out = b""
        for line in _joined(lines) if self.habits.inline_pdu else lines:
            if self.habits.own_lines and self._chance.random() < self.faults.strewn:
                out += self._framed([self._chance.choice(self.habits.own_lines)])
            out += self._framed([line])
        self._put(out)

    def _framed(self, lines: Iterable[str]) -> bytes:
        """The lines as this make sends them; of a pair (+CDS and its PDU) only the first has a break before it."""
        before, after = LINE_ENDS[self.habits.line_style]
        noise = b""
        if self._chance.random() < self.faults.noise:
            noise = self._chance.randbytes(self._chance.randint(1, 8))
        shown = [self.habits.spaced(line) for line in lines]
        if self.habits.inline_pdu and len(shown) > 1:
            shown = [" ".join(shown)]
        octets = (before + "".join(line + after for line in shown)).encode("ascii", "replace")
        return noise + (XOFF + octets + XON if self.habits.flow_control else octets)

    def _put(self, data: bytes) -> None:
        rate = self.faults.loss_out
        self._terminal.send(bytes(byte for byte in data if rate <= 0 or self._chance_out.random() >= rate))

    def _pace(self) -> tuple[int, float]:
        if self.habits.baud > 0:
            size = 1 if self.faults.byte_at_a_time else max(1, int(self.habits.baud / BITS_PER_BYTE * PACED_S))
            return size, size * BITS_PER_BYTE / self.habits.baud
        return (1, SLOW_BYTE_S) if self.faults.byte_at_a_time else (READ_BYTES, 0.0)


def _joined(lines: Iterable[str]) -> Iterator[str]:
    """Each header with its PDU in one line."""
    header = ""
    for line in lines:
        if line.startswith(("+CMGL:", "+CMGR:")):
            header = line
            continue
        yield f"{header} {line}" if header else line
        header = ""


def _length(pdu: str) -> int:
    try:
        return tpdu_octets(pdu)
    except ValueError:
        return len(pdu) // 2


def _network_time() -> datetime:
    return datetime.now(UTC)  # noqa: TID251 - the network outside the house has a clock of its own
