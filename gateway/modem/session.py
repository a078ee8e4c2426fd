"""An open line → an initialised modem: woken, PIN given, PDU mode, memories chosen, announcements where granted.

Then its four jobs: sweep (list every memory), free (read again, delete only the same PDU), send, and say how it is. PDU mode
only. Source: 3GPP TS 27.005, 27.007; what differs from modem to modem was measured.
"""

import re
from collections.abc import Callable, Collection
from dataclasses import dataclass

from gateway.errors import ModemRefused, ModemSilent, ModemTrouble
from gateway.facts import HeldPdu
from gateway.modem.answers import (
    IN_TEXT_MODE,
    PDU,
    TEXT_MODE,
    ResetSeen,
    held_in,
    reference_in,
    registered,
    signal_percent,
)
from gateway.modem.dialogue import SETTLE_S, Dialogue
from gateway.modem.pdu import encode_submit
from gateway.modem.sim import CME_SIM_BUSY, SETTLE_TRIES, Pin, SimLock
from gateway.ports import Condition, Listed, ModemReady, SendEnded, SendJob

WAKE_WITHIN_S = 40.0
CMS_INVALID = 96
SIM_MEMORIES = ("SM", "ME")
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
        self._sim = SimLock(dialogue, pin, within_s=times.command_s, pause=pause)
        self._times = times
        self._reports = delivery_reports
        self._monotonic = monotonic
        self._pause = pause
        self.memories: tuple[str, ...] = ()
        self._current = ""
        self._reports_stored = False
        self.handed_over = False
        self._doubted: set[str] = set()

    # getting ready -------------------------------------------------------------------------

    def initialise(self) -> ModemReady:
        """From power-up to at work. Raises SimTrouble, ModemSilent, ModemRefused."""
        notes: list[str] = []
        self._wake()
        self._try("ATE0")
        self._try("AT+CMEE=1")
        self._dialogue.echo_seen = False
        self._sim.unlock()
        self._ask("AT+CMGF=0")
        self._try("AT+CSMS=0")
        self._choose_memories(notes)
        announces = self._announce(notes)
        return ModemReady(model=self._model(), memories=self.memories, announces=announces, notes=tuple(notes))

    def _wake(self) -> None:
        ends, settle_s = self._monotonic() + self._times.wake_s, self._times.settle_s
        while not self._dialogue.answers_once(within_s=1.0, settle_s=settle_s):
            if self._dialogue.resynchronise(within_s=1.0, settle_s=settle_s):
                return
            if self._monotonic() >= ends:
                raise ModemSilent(f"no answer to AT within {self._times.wake_s:g} s")

    def _choose_memories(self, notes: list[str]) -> None:
        known: tuple[str, ...] = SIM_MEMORIES
        try:
            lines = self._ask("AT+CPMS=?")
            offered = set(re.findall(r'"([A-Z]{2})"', lines[0])) if lines else set(SIM_MEMORIES)
            known = tuple(one for one in SIM_MEMORIES if one in offered) or SIM_MEMORIES
        except ModemRefused:
            notes.append("+CPMS=? was refused: SM and ME are both tried")
        usable = [one for one in known if self._select(one)]
        if not usable:
            raise ModemRefused("no memory for texts can be chosen (SM, ME)")
        self.memories = tuple(usable)
        first = usable[0]
        self._try(f'AT+CPMS="{first}","{first}","{first}"')
        self._current = first

    def _announce(self, notes: list[str]) -> bool:
        for setting in CNMI_TRIES if self._reports else CNMI_WITHOUT_REPORTS:
            if self._try(f"AT+CNMI={setting}"):
                self._reports_stored = setting.endswith(",2,0")
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
        memories = self.held_in(announced)
        complete = not announced
        for memory in memories:
            if not self._select(memory):
                complete = complete and memory == "SR"
                continue
            try:
                lines = self._dialogue.command("AT+CMGL=4", within_s=self._times.list_s)
            except ModemRefused as no:
                if no.code in (321, 500) or no.family == "":
                    continue
                complete = False
                continue
            found, doubtful = held_in(memory, lines, doubted=self._doubted)
            held.extend(found)
            doubted |= doubtful
        self._doubted = self._doubted | doubted if announced else doubted
        if self._dialogue.echo_seen:
            raise ResetSeen("the modem echoes again: it was reset")
        return Listed(held=tuple(held), complete=complete and not doubted)

    def held_in(self, announced: Collection[str]) -> tuple[str, ...]:
        """The memories to look into: those announced, or all of them where one of those is none that is known."""
        known = (*self.memories, *self._report_memories())
        return tuple(one for one in known if one in announced) if announced and set(announced) <= set(known) else known

    @property
    def doubts(self) -> bool:
        """Whether the last sweep found what was hurt on the wire: it is worth looking again at once."""
        return bool(self._doubted)

    def _report_memories(self) -> tuple[str, ...]:
        return ("SR",) if self._reports_stored else ()

    def free(self, held: HeldPdu) -> tuple[bool, str]:
        """Deletes the slot only if it still holds the same PDU; (done, what was said)."""
        if held.slot is None:
            return True, ""
        if not self._select(held.memory):
            return False, f"{held.memory} cannot be chosen"
        try:
            lines = self._dialogue.command(f"AT+CMGR={held.slot}", within_s=self._times.command_s)
        except ModemRefused as no:
            empty = no.code in (321, 500, None)
            return empty, "" if empty else str(no.raw)
        if any(TEXT_MODE.match(line) for line in lines):
            raise ResetSeen(IN_TEXT_MODE)
        there = next((line for line in lines if PDU.match(line)), None)
        if there is None or there.upper() != held.pdu.upper():
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
            return SendEnded(job=job.id, outcome="refused", family="cms", code=CMS_INVALID, said=wrong.said)
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
            self._see_pdu_mode()
            self._dialogue.prompt(command, within_s=self._times.prompt_s)
        except ModemRefused as no:
            self.in_step()
            return SendEnded(
                job=job.id, outcome="refused", family=no.family, code=no.code, said=no.said, references=gone
            )
        except ModemSilent as silent:
            self.in_step()
            outcome = "unsure" if references else "not-sent"
            return SendEnded(job=job.id, outcome=outcome, said=silent.said, references=gone)  # type: ignore[arg-type]  # of the two
        self.handed_over = True
        try:
            lines = self._dialogue.hand_over(pdu, command, within_s=self._times.result_s)
        except ModemRefused as no:
            return SendEnded(
                job=job.id, outcome="refused", family=no.family, code=no.code, said=no.said, references=gone
            )
        except ModemSilent as silent:
            self.in_step()
            return SendEnded(job=job.id, outcome="unsure", said=silent.said, references=gone)
        reference = reference_in(lines)
        if reference is None:
            self.in_step()
            return SendEnded(job=job.id, outcome="unsure", said="OK without a reference", references=gone)
        references.append(reference)
        return None

    def _see_pdu_mode(self) -> None:
        """Raises ResetSeen in text mode, which a silent reset brings: there the length is a number, and the PDU goes to it as words."""
        try:
            lines = self._ask("AT+CMGF?")
        except ModemRefused:
            lines = []
        if self._dialogue.echo_seen or any(re.match(r"\+CMGF:\s*1", line) for line in lines):
            raise ResetSeen(IN_TEXT_MODE)
        if not any(re.match(r"\+CMGF:\s*0", line) for line in lines):
            self._ask("AT+CMGF=0")

    def in_step(self) -> bool:
        """Whatever was left over is let go; False where the modem does not answer."""
        return self._dialogue.resynchronise(within_s=self._times.command_s / 2, settle_s=self._times.settle_s)

    def condition(self) -> Condition:
        """Signal, registration, operator, SIM."""
        return Condition(
            signal_percent=signal_percent(self._figures("AT+CSQ")),
            registered=registered(self._figures("AT+CREG?")),
            operator=self._operator(),
            sim=self._sim.said(),
        )

    def _operator(self) -> str | None:
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

    def _select(self, memory: str) -> bool:
        if self._current == memory:
            return True
        if not self._try(f'AT+CPMS="{memory}"'):
            return False
        self._current = memory
        return True

    def _ask(self, command: str) -> list[str]:
        for _ in range(SETTLE_TRIES):
            try:
                return self._dialogue.command(command, within_s=self._times.command_s)
            except ModemRefused as no:
                if no.code not in CME_SIM_BUSY:
                    raise
                self._pause(1.0)
        return self._dialogue.command(command, within_s=self._times.command_s)

    def _try(self, command: str) -> bool:
        try:
            self._ask(command)
        except ModemRefused:
            return False
        return True
