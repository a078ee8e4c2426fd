"""The `gateway.ports.Modem` in process, below the port: no wire, no thread; every call answers at once through `tell`.

What it holds in its slots and what people got outlives `stop` and `cut`, as a modem outlives the gateway's power. With
`hold_news` the answers wait until `release`, so that a test can cut the power between a call and its answer.
"""

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Literal

from gateway.facts import HeldPdu
from gateway.gsm.segments import measure_text
from gateway.modem.error_codes import refusal
from gateway.modem.pdu import decode
from gateway.ports import (
    Condition,
    Listed,
    ModemLost,
    ModemNews,
    ModemReady,
    NetworkSaid,
    SendEnded,
    SendJob,
    SlotFreed,
)
from gateway.simulator.pdus import ZERO_STAMP, deliver_pdus, report_pdu

NETWORK_TIME = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How one send ends. `arrives`: whether a person gets it all the same (only an unsure one is open)."""

    outcome: Literal["sent", "refused", "unsure", "not-sent"] = "sent"
    family: str = ""
    code: int | None = None
    arrives: bool = True


SENT, UNSURE, UNSURE_LOST = Outcome(), Outcome(outcome="unsure"), Outcome(outcome="unsure", arrives=False)
NOT_SENT = Outcome(outcome="not-sent", arrives=False)


def refused(code: int, family: str = "cms") -> Outcome:
    """The network or the modem says no."""
    return Outcome(outcome="refused", family=family, code=code, arrives=False)


class FakeModem:
    """`jobs`: all that it was asked to send. `arrived`: what people got. `outcomes`: of the next sends, then `usual`.

    `delete_fails`: `free` is not done. `incomplete`: sweeps say that not every memory could be read. `deaf`: calls are
    counted and never answered. `calls`: one word a call, in order.
    """

    def __init__(self, *, first_slot: int = 1, memory: str = "SM", capacity: int = 30) -> None:
        self.first_slot, self.memory, self.capacity = first_slot, memory, capacity
        self.slots: dict[tuple[str, int], str] = {}
        self.waiting: deque[str] = deque()
        self.outcomes: deque[Outcome] = deque()
        self.usual = SENT
        self.by_number: dict[str, Outcome] = {}
        self.jobs: list[SendJob] = []
        self.arrived: list[SendJob] = []
        self.calls: list[str] = []
        self.reports: Literal["+CDS", "+CDSI"] = "+CDS"
        self.delete_fails = self.incomplete = self.deaf = self.hold_news = False
        self.announces = True
        self.credit: dict[str, str] = {}
        self.now: Callable[[], datetime] = lambda: NETWORK_TIME
        self._tell: Callable[[ModemNews], None] | None = None
        self._news: deque[ModemNews] = deque()
        self._reference = 0
        self._join = 0
        self._steps = 0.0

    # --- the port ---

    def start(self, tell: Callable[[ModemNews], None]) -> None:
        """Ready at once, and the first sweep's findings."""
        self._tell = tell
        self._called("start")
        self._say(ModemReady(model="fake", memories=(self.memory,), announces=self.announces))
        self._say(Condition(signal_percent=55.0, registered=True, operator="Quandong Mobile", sim="ready"))
        self._list()

    def sweep(self) -> None:
        """Lists what it holds."""
        self._called("sweep")
        self._list()

    def free(self, held: Sequence[HeldPdu]) -> None:
        """Empties each slot that still holds the same PDU; one answer each."""
        self._called("free")
        for each in held:
            self._free(each)
        self._fill_up()

    def send(self, job: SendJob) -> None:
        """Ends as scripted."""
        self._called("send")
        self.jobs.append(job)
        if self.deaf:
            return
        outcome = self.by_number.get(job.number) or (self.outcomes.popleft() if self.outcomes else self.usual)
        if outcome.arrives:
            self.arrived.append(job)
        self._say(self._ended(job, outcome))

    def ask_network(self, code: str) -> None:
        """Answers at once out of `credit`; a code that is not there gets no answer."""
        self._called("ask_network")
        self._say(NetworkSaid(code=code, said=self.credit.get(code), why="no answer"))

    def stop(self, timeout_s: float) -> bool:
        """Says no more."""
        self._called("stop")
        self.cut()
        return True

    def progress(self) -> float:
        """Counts the calls."""
        return self._steps

    # --- the world ---

    def deliver(self, sender: str, text: str, *, stamp: datetime | None = None, **how: object) -> tuple[str, ...]:
        """A text comes (`how` as `deliver_pdus`); announced at once where the modem announces."""
        self._join = self._join % 255 + 1
        how.setdefault("reference", self._join)
        pdus = tuple(deliver_pdus(sender, text, stamp or self.now(), **how))
        self.deliver_pdus(pdus)
        return pdus

    def deliver_pdus(self, pdus: Sequence[str]) -> None:
        """These octets come, whatever they are; what has no room waits in the network."""
        self.waiting.extend(pdus)
        self._fill_up()

    def report(self, number: str, reference: int, status: int = 0, *, zero_discharge: bool = False) -> None:
        """A delivery report comes: told at once, unsolicited (+CDS) or out of a slot (+CDSI)."""
        pdu = report_pdu(number, reference, status, self.now(), ZERO_STAMP if zero_discharge else None)
        if self.reports == "+CDSI":
            self.deliver_pdus([pdu])
        else:
            self._say(Listed(held=(HeldPdu(memory="", slot=None, pdu=pdu, content=decode(pdu)),)))

    def lose(self, why: str = "the device went away", kind: str = "gone") -> None:
        """The modem is lost; what it holds stays."""
        self._say(ModemLost(why=why, kind=kind))

    def back(self) -> None:
        """It is there again, with a sweep, as the real one does."""
        self._say(ModemReady(model="fake", memories=(self.memory,), announces=self.announces))
        self._list()

    def cut(self) -> None:
        """The gateway's power fails: nobody listens any more, unsaid news is lost, slots stay."""
        self._tell = None
        self._news.clear()

    def release(self, count: int | None = None) -> int:
        """Says what was held (`count`: only so many); how many it said."""
        said = 0
        while self._news and self._tell is not None and (count is None or said < count):
            self._tell(self._news.popleft())
            said += 1
        return said

    def reuse(self, slot: int, pdu: str) -> None:
        """Somebody frees the slot and another text takes it."""
        self.slots[self.memory, slot] = pdu

    # --- how it works ---

    def _called(self, what: str) -> None:
        self.calls.append(what)
        self._steps += 1

    def _say(self, news: ModemNews) -> None:
        if self.deaf or self._tell is None:
            return
        if self.hold_news:
            self._news.append(news)
        else:
            self._tell(news)

    def _list(self) -> None:
        held = tuple(
            HeldPdu(memory=memory, slot=slot, pdu=pdu, content=decode(pdu))
            for (memory, slot), pdu in sorted(self.slots.items())
        )
        self._say(Listed(held=held, complete=not self.incomplete))

    def _free(self, held: HeldPdu) -> None:
        if held.slot is None:
            self._say(SlotFreed(held=held, done=True))
            return
        if self.delete_fails:
            self._say(SlotFreed(held=held, done=False, said="+CMS ERROR: 500"))
            return
        if self.slots.get((held.memory, held.slot)) == held.pdu:
            del self.slots[held.memory, held.slot]
        self._say(SlotFreed(held=held, done=True))

    def _fill_up(self) -> None:
        came = False
        while self.waiting and len(self.slots) < self.capacity:
            slot = next(
                n for n in range(self.first_slot, self.first_slot + self.capacity) if (self.memory, n) not in self.slots
            )
            self.slots[self.memory, slot] = self.waiting.popleft()
            came = True
        if came and self.announces:
            self._list()

    def _ended(self, job: SendJob, outcome: Outcome) -> SendEnded:
        references: tuple[int, ...] = ()
        if outcome.outcome == "sent":
            references = tuple(
                (self._reference + place) % 256 for place in range(1, measure_text(job.text).segments + 1)
            )
            self._reference = references[-1]
        if outcome.outcome == "refused":
            return refusal(job.id, outcome.family, outcome.code)
        return SendEnded(job=job.id, outcome=outcome.outcome, references=references)
