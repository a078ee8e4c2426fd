"""An open line → a modem at work: woken, PIN given, PDU mode, memories chosen, announcements where they are granted.

Nothing of this outlives a reset of the modem, and a reset may be silent: whoever notices one (`ResetSeen`) comes back to here.
PDU mode only. Source: 3GPP TS 27.005, 27.007; what differs from modem to modem was measured.
"""

import re
from collections.abc import Callable, Sequence

from gateway.errors import ModemRefused, ModemSilent
from gateway.modem.condition import Gauges
from gateway.modem.dialogue import Dialogue, Times
from gateway.modem.grammar import figures, lists_in, name_and_fields
from gateway.modem.list_and_free import Slots
from gateway.modem.memories import Memories
from gateway.modem.pdu_mode import PduMode
from gateway.modem.sending import Sender
from gateway.modem.sim import PatientCommands, Pin, SimLock
from gateway.ports import ModemReady

REPORTS_STORED, REPORTS_TOLD, NO_REPORTS = 2, 1, 0
"""<ds> of +CNMI (27.005 3.4.1): +CDSI, +CDS, neither."""
MODES, BUFFERS = (2, 1, 3, 0), (0, 1)
"""<mode>: 2 keeps announcements while the line is busy; some advertise it and grant 1 alone. <bfr>: 0 is usual, some know 1 alone."""
IN_WORDS = "ATQ0V1"
"""For a modem that says its results as figures, or not at all (V.250 6.2.5, 6.2.6)."""
WAKE_LINES = ("AT", IN_WORDS)
OWN_NUMBER = re.compile(r"\+?\d{6,15}")


def settings_to_try(offered: Sequence[Sequence[str]], *, reports: bool) -> tuple[str, ...]:
    """`<mode>,<mt>,<bm>,<ds>,<bfr>` of +CNMI, the best first: texts announced by +CMTI, reports stored or told, or not at all.

    `offered`: what +CNMI=? says (empty: nothing). What is in it comes before what is not, for some advertise what they refuse, and the other
    way round.
    """
    wanted = (REPORTS_STORED, REPORTS_TOLD, NO_REPORTS) if reports else (NO_REPORTS,)
    forms = [(mode, 1, 0, ds, bfr) for ds in wanted for bfr in BUFFERS for mode in MODES[:2]]
    forms += [
        (mode, 1, 0, NO_REPORTS, bfr) for bfr in BUFFERS for mode in MODES[2:] if _in(offered, (mode, 1, 0, 0, bfr))
    ]
    named = [form for form in forms if _in(offered, form)]
    unnamed = [form for form in forms if form not in named]
    return (*(",".join(map(str, form)) for form in (*named, *unnamed)), "2,1")


def _in(offered: Sequence[Sequence[str]], form: Sequence[int]) -> bool:
    return len(offered) >= len(form) and all(str(value) in values for value, values in zip(form, offered, strict=False))


class Session:
    """One modem from its line's opening to its loss, and its parts: `memories`, `slots`, `sender`, `gauges`."""

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
        self._times = times
        self._wants_reports = delivery_reports
        self._monotonic = monotonic
        self._commands = PatientCommands(dialogue, within_s=times.command_s, pause=pause)
        self._pdu_mode = PduMode(dialogue, within_s=times.command_s, monotonic=monotonic)
        self._sim = SimLock(dialogue, self._commands, pin)
        self.memories = Memories(self._commands)
        self.slots = Slots(dialogue, self.memories, self._pdu_mode, times)
        self.sender = Sender(dialogue, self._pdu_mode, times)
        self.gauges = Gauges(dialogue, self._sim, times)
        self._must_acknowledge = False

    def initialise(self) -> ModemReady:
        """From power-up to at work. Raises SimTrouble, ModemSilent, ModemRefused."""
        self._wake()
        self._commands.are_granted("ATE0")
        self._commands.are_granted("AT+CMEE=1")
        self._pdu_mode.note_echo()
        self._sim.unlock()
        self._commands.ask_while_starting("AT+CMGF=0")
        # phase 2 service would want every +CDS acknowledged with +CNMA, or the network is told an error (27.005 3.2.1, 3.4.4)
        granted = self._commands.are_granted("AT+CSMS=0")
        self._must_acknowledge = not granted and self._service() == 1
        remarks = [*self.memories.choose()]
        announces = self._ask_for_announcements(remarks)
        return ModemReady(
            model=self._model(),
            memories=self.memories.names,
            announces=announces,
            notes=tuple(remarks),
            number=self._own_number(),
        )

    def resynchronise(self) -> bool:
        """Whatever was left over is let go; False where the modem does not answer."""
        return self._dialogue.resynchronise(settle_s=self._times.settle_s)

    def acknowledge(self, *, settings_lost: bool) -> None:
        """What came unsolicited is ours (27.005 3.4.4): the network waits for that word where the modem is in phase 2 service."""
        if self._must_acknowledge or settings_lost:
            self._commands.are_granted("AT+CNMA")

    def _service(self) -> int | None:
        try:
            lines = self._commands.ask("AT+CSMS?")
        except ModemRefused:
            return None
        return next(iter(figures(name_and_fields(lines[0])[1])), None) if lines else None

    def _wake(self) -> None:
        ends_s, settle_s = self._monotonic() + self._times.wake_s, self._times.settle_s
        while not any(
            self._dialogue.answers_once(within_s=1.0, settle_s=settle_s, command=line) for line in WAKE_LINES
        ):
            if self._dialogue.resynchronise(within_s=1.0, settle_s=settle_s):
                return
            if self._monotonic() >= ends_s:
                raise ModemSilent(f"no answer to AT within {self._times.wake_s:g} s")

    def _ask_for_announcements(self, remarks: list[str]) -> bool:
        for setting in settings_to_try(self._offered_settings(), reports=self._wants_reports):
            if self._commands.are_granted(f"AT+CNMI={setting}"):
                reports = int(setting.split(",")[3]) if setting.count(",") > 2 else NO_REPORTS
                self.memories.reports_are_stored = reports == REPORTS_STORED
                if self._wants_reports and reports == NO_REPORTS:
                    remarks.append("delivery reports were refused: a message that left is never known to have arrived")
                return True
        remarks.append("+CNMI was refused: the sweep alone finds texts")
        return False

    def _offered_settings(self) -> list[list[str]]:
        try:
            lines = self._commands.ask("AT+CNMI=?")
        except ModemRefused:
            return []
        return lists_in(lines[0].partition(":")[2]) if lines else []

    def _model(self) -> str:
        try:
            lines = self._dialogue.command("AT+CGMM", within_s=self._times.command_s, bare=True)
        except (ModemRefused, ModemSilent):
            return "unknown"
        return lines[0].removeprefix("+CGMM:").strip() if lines else "unknown"

    def _own_number(self) -> str | None:
        """What the SIM holds as its own number (27.007 7.1, +CNUM); most operators leave it empty, and some modems do not know the command."""
        try:
            lines = self._dialogue.command("AT+CNUM", within_s=self._times.command_s)
        except (ModemRefused, ModemSilent):
            return None
        numbers = (fields[1].value.strip() for line in lines if len(fields := name_and_fields(line)[1]) > 1)
        return next((number for number in numbers if OWN_NUMBER.fullmatch(number)), None)
