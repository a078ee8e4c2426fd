"""An open line → an initialised modem: woken, PIN given, PDU mode, memories chosen, announcements where granted.

Then its four jobs: sweep (list every memory), free (read again, delete only the same PDU), send, and say how it is. PDU mode
only. Source: 3GPP TS 27.005, 27.007; what differs from modem to modem was measured.
"""

import re
from collections.abc import Callable, Collection
from dataclasses import dataclass

from gateway.errors import ModemRefused, ModemSilent, ModemTrouble
from gateway.facts import HeldPdu
from gateway.modem.asking import Asking
from gateway.modem.dialogue import SETTLE_S, Dialogue
from gateway.modem.error_codes import refusal
from gateway.modem.listing import (
    ResetSeen,
    arrival_in,
    listed_in,
    reference_in,
    registered,
    signal_percent,
)
from gateway.modem.memories import STORED_REPORTS, Memories
from gateway.modem.mode import PduMode
from gateway.modem.pdu import encode_submit
from gateway.modem.sim import Pin, SimLock
from gateway.ports import Condition, Listed, ModemReady, SendEnded, SendJob

WAKE_WITHIN_S = 40.0
CMS_INVALID = 96
CNMI_TRIES = ("2,1,0,2,0", "2,1,0,1,0", "1,1,0,2,0", "1,1,0,1,0", "2,1,0,0,0", "1,1,0,0,0", "2,1")
CNMI_WITHOUT_REPORTS = ("2,1,0,0,0", "1,1,0,0,0", "2,1")


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """How long the modem may take, in seconds."""

    prompt_s: float = 10.0
    result_s: float = 60.0
    command_s: float = 5.0
    wake_s: float = WAKE_WITHIN_S
    list_s: float = 30.0
    ussd_s: float = 60.0
    settle_s: float = SETTLE_S


class Session:
    """The modem, initialised."""

    def __init__(
        self,
        dialogue: Dialogue,
        *,
        pin: Pin,
        times: Times,
        delivery_reports: bool,
        monotonic: Callable[[], float],
        pause: Callable[[float], None],
    ) -> None:
        self._dialogue = dialogue
        self._mode = PduMode(dialogue, within_s=times.command_s, monotonic=monotonic)
        self._asking = Asking(dialogue, within_s=times.command_s, pause=pause)
        self._sim = SimLock(dialogue, self._asking, pin)
        self._times = times
        self._reports = delivery_reports
        self._monotonic = monotonic
        self.memories = Memories(self._asking)
        self.handed_over = False
        self._doubted: set[str] = set()
        self._registration: list[int] = []
        self._operator: str | None = None

    # getting ready -------------------------------------------------------------------------

    def initialise(self) -> ModemReady:
        """From power-up to at work. Raises SimTrouble, ModemSilent, ModemRefused."""
        self._wake()
        self._asking.grants("ATE0")
        self._asking.grants("AT+CMEE=1")
        self._mode.set_up()
        self._sim.unlock()
        self._asking.ask("AT+CMGF=0")
        self._asking.grants("AT+CSMS=0")
        notes = [*self.memories.choose()]
        announces = self._announce(notes)
        return ModemReady(model=self._model(), memories=self.memories.names, announces=announces, notes=tuple(notes))

    def _wake(self) -> None:
        ends, settle_s = self._monotonic() + self._times.wake_s, self._times.settle_s
        while not self._dialogue.answers_once(within_s=1.0, settle_s=settle_s):
            if self._dialogue.resynchronise(within_s=1.0, settle_s=settle_s):
                return
            if self._monotonic() >= ends:
                raise ModemSilent(f"no answer to AT within {self._times.wake_s:g} s")

    def _announce(self, notes: list[str]) -> bool:
        for setting in CNMI_TRIES if self._reports else CNMI_WITHOUT_REPORTS:
            if self._asking.grants(f"AT+CNMI={setting}"):
                self.memories.reports_are_stored = setting.endswith(",2,0")
                return True
        notes.append("+CNMI was refused: the sweep alone finds texts")
        return False

    def _model(self) -> str:
        try:
            lines = self._dialogue.command("AT+CGMM", within_s=self._times.command_s, bare=True)
        except (ModemRefused, ModemSilent):
            return "unknown"
        return lines[0].removeprefix("+CGMM:").strip() if lines else "unknown"

    # at work -------------------------------------------------------------------------------

    def sweep(self, announced: Collection[str] = ()) -> Listed:
        """Everything in every memory; not complete while something in them is doubted. With `announced` only in those."""
        held: list[HeldPdu] = []
        doubted: set[str] = set()
        memories = self.memories.to_look_into(announced)
        complete = not announced
        for memory in memories:
            if not self.memories.select(memory):
                complete = complete and memory == STORED_REPORTS
                continue
            try:
                lines = self._dialogue.command("AT+CMGL=4", within_s=self._times.list_s)
            except ModemRefused as no:
                if no.code in (321, 500) or no.family == "":
                    continue
                complete = False
                continue
            listing = listed_in(memory, lines, doubted=self._doubted)
            held.extend(listing.held)
            doubted |= listing.doubted
            self.memories.taken_by_own[memory] = listing.own
        self._doubted = self._doubted | doubted if announced else doubted
        if self._mode.echo_is_back:
            raise ResetSeen("the modem echoes again: it was reset")
        if held:
            self._mode.shown()
        return Listed(held=tuple(held), complete=complete and not doubted)

    @property
    def doubts(self) -> bool:
        """Whether the last sweep found what was hurt on the wire: it is worth looking again at once."""
        return bool(self._doubted)

    def free(self, held: HeldPdu) -> tuple[bool, str]:
        """Deletes the slot only if it still holds the same PDU; (done, what was said)."""
        if held.slot is None:
            return True, ""
        if not self.memories.select(held.memory):
            return False, f"{held.memory} cannot be chosen"
        try:
            lines = self._dialogue.command(f"AT+CMGR={held.slot}", within_s=self._times.command_s)
        except ModemRefused as no:
            empty = no.code in (321, 500, None)
            return empty, "" if empty else str(no.raw)
        arrival = arrival_in(lines)
        if arrival is None or arrival.upper() != held.pdu.upper():
            return True, "the slot holds something else by now"
        try:
            self._dialogue.command(f"AT+CMGD={held.slot}", within_s=self._times.command_s * 2)
        except ModemRefused as no:
            return False, str(no.raw or no.said)
        return True, ""

    def send(self, job: SendJob) -> SendEnded:
        """Every segment, each with its prompt; how it ended."""
        try:
            pdus = encode_submit(job.number, job.text, job.reference, job.want_report)
        except ModemTrouble as wrong:
            return refusal(job.id, "cms", CMS_INVALID, handed_over=False, said=wrong.said)
        references: list[int] = []
        self.handed_over = False
        for pdu in pdus:
            ended = self._segment(job, pdu.pdu, pdu.length, references)
            if ended is not None:
                return ended
        return SendEnded(job=job.id, outcome="sent", references=tuple(references))

    def _segment(self, job: SendJob, pdu: str, length: int, references: list[int]) -> SendEnded | None:
        command = f"AT+CMGS={length}"
        gone = tuple(references)
        try:
            self._mode.see()
            self._dialogue.prompt(command, within_s=self._times.prompt_s)
            self._mode.see_at_prompt()
        except ModemRefused as no:
            self.in_step()
            return refusal(job.id, no.family, no.code, handed_over=False, said=no.said, references=gone)
        except ModemSilent as silent:
            self.in_step()
            outcome = "unsure" if references else "not-sent"
            return SendEnded(job=job.id, outcome=outcome, said=silent.said, references=gone)  # type: ignore[arg-type]  # of the two
        self.handed_over = True
        try:
            lines = self._dialogue.hand_over(pdu, command, within_s=self._times.result_s)
        except ModemRefused as no:
            return refusal(job.id, no.family, no.code, said=no.said, references=gone)
        except ModemSilent as silent:
            self.in_step()
            return SendEnded(job=job.id, outcome="unsure", said=silent.said, references=gone)
        reference = reference_in(lines)
        if reference is None:
            self.in_step()
            return SendEnded(job=job.id, outcome="unsure", said="OK without a reference", references=gone)
        references.append(reference)
        self._mode.shown()
        return None

    def in_step(self) -> bool:
        """Whatever was left over is let go; False where the modem does not answer."""
        return self._dialogue.resynchronise(within_s=self._times.command_s / 2, settle_s=self._times.settle_s)

    def condition(self) -> Condition:
        """Signal, registration, operator (asked anew when the registration changed), SIM."""
        signal, registration = self._figures("AT+CSQ"), self._figures("AT+CREG?")
        if self._operator is None or registration != self._registration:
            self._registration, self._operator = registration, self._ask_operator()
        return Condition(
            signal_percent=signal_percent(signal),
            registered=registered(registration),
            operator=self._operator,
            sim=self._sim.said(),
        )

    def _ask_operator(self) -> str | None:
        try:
            lines = self._dialogue.command("AT+COPS?", within_s=self._times.command_s * 2)
        except (ModemRefused, ModemSilent):
            return None
        found = re.search(r'"([^"]*)"', lines[0]) if lines else None
        return found[1] if found else None

    def _figures(self, command: str) -> list[int]:
        try:
            lines = self._dialogue.command(command, within_s=self._times.command_s)
        except ModemRefused:
            return []
        return [int(figure) for figure in re.findall(r"\d+", lines[0].partition(":")[2])] if lines else []
