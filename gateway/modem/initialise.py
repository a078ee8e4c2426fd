"""An open line → a modem at work: woken, PIN given, PDU mode, memories chosen, announcements where they are granted.

Nothing of this outlives a reset of the modem, and a reset may be silent: whoever notices one (`ResetSeen`) comes back to here.
PDU mode only. Source: 3GPP TS 27.005, 27.007; what differs from modem to modem was measured.
"""

from collections.abc import Callable

from gateway.errors import ModemRefused, ModemSilent
from gateway.modem.condition import Gauges
from gateway.modem.dialogue import Dialogue, Times
from gateway.modem.list_and_free import Slots
from gateway.modem.memories import Memories
from gateway.modem.pdu_mode import PduMode
from gateway.modem.sending import Sender
from gateway.modem.sim import PatientCommands, Pin, SimLock
from gateway.ports import ModemReady

CNMI_TRIES = ("2,1,0,2,0", "2,1,0,1,0", "1,1,0,2,0", "1,1,0,1,0", "2,1,0,0,0", "1,1,0,0,0", "2,1")
"""<mode>,<mt>,<bm>,<ds>,<bfr> (27.005 3.4.1), the best first: texts announced by +CMTI, reports stored (+CDSI) or told (+CDS), or not at
all. Which of them a make grants is found by asking: some advertise in +CNMI=? what they refuse."""
CNMI_WITHOUT_REPORTS = ("2,1,0,0,0", "1,1,0,0,0", "2,1")


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

    def initialise(self) -> ModemReady:
        """From power-up to at work. Raises SimTrouble, ModemSilent, ModemRefused."""
        self._wake()
        self._commands.are_granted("ATE0")
        self._commands.are_granted("AT+CMEE=1")
        self._pdu_mode.note_echo()
        self._sim.unlock()
        self._commands.ask("AT+CMGF=0")
        # phase 2 service would want every +CDS acknowledged with +CNMA, or the network is told an error (27.005 3.2.1, 3.4.4)
        self._commands.are_granted("AT+CSMS=0")
        remarks = [*self.memories.choose()]
        announces = self._ask_for_announcements(remarks)
        return ModemReady(model=self._model(), memories=self.memories.names, announces=announces, notes=tuple(remarks))

    def resynchronise(self) -> bool:
        """Whatever was left over is let go; False where the modem does not answer."""
        return self._dialogue.resynchronise(settle_s=self._times.settle_s)

    def _wake(self) -> None:
        ends_s, settle_s = self._monotonic() + self._times.wake_s, self._times.settle_s
        while not self._dialogue.answers_once(within_s=1.0, settle_s=settle_s):
            if self._dialogue.resynchronise(within_s=1.0, settle_s=settle_s):
                return
            if self._monotonic() >= ends_s:
                raise ModemSilent(f"no answer to AT within {self._times.wake_s:g} s")

    def _ask_for_announcements(self, remarks: list[str]) -> bool:
        for setting in CNMI_TRIES if self._wants_reports else CNMI_WITHOUT_REPORTS:
            if self._commands.are_granted(f"AT+CNMI={setting}"):
                self.memories.reports_are_stored = setting.endswith(",2,0")
                return True
        remarks.append("+CNMI was refused: the sweep alone finds texts")
        return False

    def _model(self) -> str:
        try:
            lines = self._dialogue.command("AT+CGMM", within_s=self._times.command_s, bare=True)
        except (ModemRefused, ModemSilent):
            return "unknown"
        return lines[0].removeprefix("+CGMM:").strip() if lines else "unknown"
