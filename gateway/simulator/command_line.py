"""Bytes the gateway wrote → commands, answered one after another, as V.250 has it.

A command ends with a carriage return; while an answer is due nothing further is read. Behind a prompt everything is
text until Ctrl-Z sends it or ESC drops it: that is why a gateway that forgets a prompt loses its next commands.
"""

import sys
from collections.abc import Callable, Iterable

from gateway.simulator.device_commands import DEVICE_COMMANDS, EVEN_ASLEEP, basic
from gateway.simulator.message_commands import MESSAGE_COMMANDS
from gateway.simulator.modem_state import Answer, Command, Kind, ModemState
from gateway.simulator.sim_card import Refused

COMMANDS: dict[str, Command] = DEVICE_COMMANDS | MESSAGE_COMMANDS
RETURN, CTRL_Z, ESCAPE, BACKSPACE = 0x0D, 0x1A, 0x1B, 0x08
LONGEST_LINE = 2048
"""A line that grows beyond this is dropped."""
FIGURES = {"OK": b"0\r", "ERROR": b"4\r"}
"""With ATV0; no line feed (V.250 6.2.6)."""
WORDS = {
    10: "SIM not inserted",
    11: "SIM PIN required",
    12: "SIM PUK required",
    14: "SIM busy",
    16: "incorrect password",
}


class CommandLine:
    """`out` takes the lines of an answer, `raw` bytes as they are; `after` runs something later."""

    def __init__(
        self,
        modem: ModemState,
        out: Callable[[Iterable[str]], None],
        raw: Callable[[bytes], None],
        after: Callable[[float, Callable[[], None]], None],
    ) -> None:
        self._modem, self._out, self._raw, self._after = modem, out, raw, after
        self.commands: list[str] = []
        self._line = bytearray()
        self._unread = bytearray()
        self._busy = False
        self._prompted: Callable[[str], Answer] | None = None
        self._life = 0

    @property
    def wants_text(self) -> bool:
        """Whether a prompt stands open."""
        return self._prompted is not None

    def forget(self) -> None:
        """As after power-up: nothing half read, nothing owed."""
        self._line.clear()
        self._unread.clear()
        self._busy, self._prompted = False, None
        self._life += 1

    def feed(self, data: bytes) -> None:
        """What came over the wire."""
        self._unread += data
        del self._unread[: -2 * LONGEST_LINE]
        while self._unread and not self._busy:
            self._byte(self._unread.pop(0))

    def _byte(self, byte: int) -> None:
        if self._prompted is not None:
            self._text_byte(byte)
            return
        if self._modem.echo and not self._modem.is_mute:
            self._raw(bytes([byte]))
        if byte == RETURN:
            line = self._line.decode("ascii", "replace").strip()
            self._line.clear()
            if line:
                self._command(line)
        elif byte == BACKSPACE:
            del self._line[-1:]
        elif byte >= 0x20 and len(self._line) < LONGEST_LINE:
            self._line.append(byte)

    def _text_byte(self, byte: int) -> None:
        ready = self._prompted
        if self._modem.echo and byte not in (CTRL_Z, ESCAPE):
            self._raw(bytes([byte]))
        if byte == ESCAPE:
            self._line.clear()
            self._prompted = None
            self._answer(lambda: Answer())
        elif byte == CTRL_Z and ready is not None:
            text = self._line.decode("ascii", "replace")
            self._line.clear()
            self._prompted = None
            self._answer(lambda: ready(text))
        elif len(self._line) < LONGEST_LINE:
            self._line.append(byte)

    def _command(self, line: str) -> None:
        if line[:2].upper() != "AT":
            return
        self.commands.append(sys.intern(line))  # one string each, however many years go by
        if self._modem.is_mute:
            if self._modem.faults.mute_until_reset and line.upper().replace(" ", "") == "AT+CFUN=1,1":
                self._modem.faults.mute_until_reset = False
                self._modem.reset()
            return
        self._answer(lambda: self._looked_up(line[2:].strip()))

    def _looked_up(self, body: str) -> Answer:
        own = self._modem.habits.answers.get("AT" + body.upper().replace(" ", ""))
        if own is not None:
            return Answer(lines=own, final="")
        if not body:
            return Answer()
        if body[0] != "+":
            return basic(self._modem, body)
        name, kind, arguments = taken_apart(body)
        command = COMMANDS.get(name)
        if command is None:
            raise Refused("CME", 4)
        if not self._modem.awake and name not in EVEN_ASLEEP:
            self._modem.need_sim()
        return command(self._modem, kind, arguments)

    def _answer(self, command: Callable[[], Answer]) -> None:
        try:
            answer = command()
        except Refused as refused:
            answer = Answer(final=self._worded(refused), after_s=refused.after_s)
        if answer.prompt is not None:
            self._prompt(answer.prompt)
        elif answer.after_s + self._slow_s() > 0:
            self._busy = True
            self._later(answer.after_s + self._slow_s(), lambda: self._finish(answer))
        else:
            self._finish(answer)

    def _finish(self, answer: Answer) -> None:
        self._busy = False
        final = "" if answer.final == "OK" and self._name() in self._modem.habits.no_ok else answer.final
        final = "" if self._modem.quiet else final
        said = (*answer.lines, *filter(None, ("" if self._modem.figures else final,)))
        if said and not self._modem.is_mute:
            self._out(said)
        if final and self._modem.figures and not self._modem.is_mute:
            self._raw(FIGURES.get(final, FIGURES["ERROR"]))
        if answer.then is not None:
            answer.then()
        self.feed(b"")

    def _prompt(self, ready: Callable[[str], Answer]) -> None:
        """Late or never said, it stands open all the same."""
        self._prompted = ready
        if self._modem.faults.prompt == "late":
            self._later(
                self._modem.faults.prompt_delay_s,
                lambda: self._raw(self._modem.habits.prompt) if self.wants_text else None,
            )
        elif self._modem.faults.prompt == "normal":
            self._raw(self._modem.habits.prompt)

    def _name(self) -> str:
        return taken_apart(self.commands[-1][2:])[0] if self.commands else ""

    def _slow_s(self) -> float:
        return self._modem.habits.slow_s.get(self._name(), 0.0)

    def _later(self, seconds: float, call: Callable[[], None]) -> None:
        """Not across a reset."""
        life = self._life
        self._after(seconds, lambda: call() if life == self._life else None)

    def _worded(self, refused: Refused) -> str:
        if refused.said:
            return refused.said
        if refused.family == "CMS":
            return f"+CMS ERROR: {refused.code}"
        if not refused.family or self._modem.cmee == 0:
            return "ERROR"
        words = WORDS.get(refused.code, str(refused.code)) if self._modem.cmee == 2 else str(refused.code)
        return f"+CME ERROR: {words}"


def taken_apart(body: str) -> tuple[str, Kind, str]:
    """`+CPMS="SM"` → (+CPMS, set, "SM")."""
    name, equals, arguments = body.partition("=")
    if equals:
        return name.strip().upper(), "test" if arguments.strip() == "?" else "set", arguments.strip()
    if body.endswith("?"):
        return body[:-1].strip().upper(), "read", ""
    return body.strip().upper(), "run", ""
