"""AT commands → their answers, with whatever the modem says unasked kept apart.

How it works. A modem answers one command at a time: lines of the answer, each beginning with the command's prefix (`AT+CMGL` →
`+CMGL:`) or following such a line as its content (a PDU), and one result: OK, ERROR, +CME ERROR, +CMS ERROR. Nothing in the
protocol says which command a result belongs to. In between, before, behind and in the same read it may say anything of its own:
a text came, a report with its PDU in the next line, somebody rings, the signal. So each line is sorted:

    the command itself          echo: dropped, and noted, since an echo that was switched off and is back tells of a reset
    another command's answer    that command was given up, and its answer is late: its result will be no answer to ours
    a result                    ends the answer, unless it belongs to such a late one
    begins with the prefix      the answer
    begins like an announcement told to `unasked`, wherever it stands; +CDS and +CMT with the PDU in the next line
    anything else               content of the answer, where one has begun (or the command's answer has no prefix); else noise

A message is handed over in two steps: the modem asks for it with a prompt (`>`), and until the PDU was written nothing has left;
from then on, silence means that its fate is unknown. A command that was given up may be answered later, so after each silence
the dialogue is resynchronised: nothing is asked before the modem answers AT once, and only once.

Source: 3GPP TS 27.007 4 and 27.005; ITU-T V.250.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

from gateway.errors import ModemRefused, ModemSilent
from gateway.modem.lines import FINAL_ERROR, PLAIN_ERRORS, UNASKED, Lines, is_result

WITH_PDU = ("+CDS:", "+CMT:", "+CBM:")
HEX_LINE = re.compile(r"^[0-9A-Fa-f]{6,}$")
CTRL_Z, ESC = b"\x1a", b"\x1b"
ANSWERS_ONLY = ("+CMGL:", "+CMGR:", "+CMGS:", "+CPMS:")
"""Never unasked: where another answer is awaited, the late answer to a command that was given up; its result is no other's."""
READS_PDUS = ("+CMGL:", "+CMGR:")
SETTLE_S = 0.15
"""A result that was left over follows this soon on another."""
RESYNCHRONISE_TRIES, RESYNCHRONISE_WITHIN_S = 5, 2.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """How long the modem may take, in seconds."""

    prompt_s: float = 10.0
    result_s: float = 60.0
    command_s: float = 5.0
    wake_s: float = 40.0
    list_s: float = 30.0
    ussd_s: float = 60.0
    settle_s: float = SETTLE_S
    condition_every_s: float = 60.0


class Wire(Protocol):
    """What the dialogue needs of a link."""

    def read(self, timeout_s: float, *, wakeable: bool = False) -> bytes: ...
    def write(self, data: bytes) -> None: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Unasked:
    """One unasked line; `pdu` is the line that came with it (+CDS, +CMT)."""

    line: str
    pdu: str | None = None


@dataclass(slots=True)
class _Awaited:
    """The answer that is awaited, as far as it came; `bare`: its lines have no prefix (+CGMM)."""

    command: str
    bare: bool = False
    lines: list[str] = field(default_factory=list)
    prefix: str = field(init=False)

    def __post_init__(self) -> None:
        named = re.match(r"^AT([+^][A-Z]+)", self.command)
        self.prefix = f"{named[1]}:" if named else ""

    def begins(self, line: str) -> bool:
        """Whether the line begins one of the answer's. `+CREG: 1` is news; the answer to a question has two figures."""
        if not self.prefix or not line.startswith(self.prefix):
            return False
        return self.prefix not in ("+CREG:", "+CGREG:") or "," in line


class Dialogue:
    """One owner of the whole exchange on a wire."""

    def __init__(self, wire: Wire, monotonic: Callable[[], float], unasked: Callable[[Unasked], None]) -> None:
        self._wire = wire
        self._monotonic = monotonic
        self._unasked = unasked
        self._lines = Lines()
        self._head_awaiting_pdu: str | None = None
        self._result_is_late = False
        self.echo_seen = False

    def command(self, command: str, *, within_s: float = 5.0, bare: bool = False) -> list[str]:
        """The lines of the answer before OK. `bare`: the answer has no prefix (+CGMM). Raises ModemRefused, ModemSilent."""
        awaited = _Awaited(command, bare)
        self._begin(command.encode("ascii") + b"\r")
        ends_s = self._monotonic() + within_s
        while (line := self._next_line(ends_s)) is not None:
            if self._ends(awaited, line):
                return awaited.lines
        raise ModemSilent(f"no answer to {command} within {within_s:g} s", raw=" / ".join(awaited.lines))

    def prompt(self, command: str, *, within_s: float) -> None:
        """Sends a command that asks for text and waits for the modem's `>`. Nothing is handed over yet."""
        awaited = _Awaited(command)
        self._begin(command.encode("ascii") + b"\r")
        ends_s = self._monotonic() + within_s
        while (line := self._next_line(ends_s, prompt=True)) is not None:
            if line == ">":
                return
            if self._ends(awaited, line):
                raise ModemRefused(f"{command} was answered without a prompt", raw=line)
        raise ModemSilent(f"no prompt after {command} within {within_s:g} s")

    def hand_over(self, pdu: str, command: str, *, within_s: float) -> list[str]:
        """Hands the PDU over and waits for its result. A ModemSilent from here means: its fate is unknown."""
        awaited = _Awaited(command)
        self._begin(pdu.encode("ascii") + CTRL_Z)
        ends_s = self._monotonic() + within_s
        while (line := self._next_line(ends_s)) is not None:
            # some makes echo the PDU at the prompt even with ATE0: no content of the answer, and no sign of a reset
            if line.strip("> \x1a").upper() != pdu.upper() and self._ends(awaited, line):
                return awaited.lines
        raise ModemSilent(f"no result after the text within {within_s:g} s")

    def resynchronise(self, *, within_s: float = RESYNCHRONISE_WITHIN_S, settle_s: float = SETTLE_S) -> bool:
        """ESC out of any prompt, then AT until it is answered once and no more, twice in a row; whatever was left over is let go.

        A command that was given up may be answered yet: its result would be taken for the next one's, and so on for ever. In a soak of
        half an hour texts went missing at its end, most likely by this.
        """
        self._result_is_late = False
        self._wire.write(ESC)
        in_a_row = 0
        for _ in range(RESYNCHRONISE_TRIES):
            in_a_row = in_a_row + 1 if self.answers_once(within_s=within_s, settle_s=settle_s) else 0
            if in_a_row == 2:
                return True
        return False

    def answers_once(self, *, within_s: float, settle_s: float = SETTLE_S) -> bool:
        """Whether AT brings one result, and no other follows at once."""
        self._begin(b"AT\r")
        results, ends_s = 0, self._monotonic() + within_s
        while (line := self._next_line(ends_s)) is not None:
            if is_result(line):
                results, ends_s = results + 1, self._monotonic() + settle_s
            elif self._head_awaiting_pdu is not None or UNASKED.match(line):
                self._tell(line)
        return results == 1

    def listen(self, timeout_s: float) -> None:
        """Waits for something unasked, or for a wake-up."""
        if not self._lines:
            self._lines.feed(self._wire.read(timeout_s, wakeable=True))
        self.tell_waiting_lines()

    def tell_waiting_lines(self) -> None:
        """What came behind an answer in the same read (a delivery report, say)."""
        while self._lines:
            self._tell(self._lines.pop())

    def _begin(self, octets: bytes) -> None:
        """What was said before this command is no answer to it."""
        self.tell_waiting_lines()
        self._wire.write(octets)

    def _next_line(self, ends_s: float, *, prompt: bool = False) -> str | None:
        """The next line; `>` at a prompt that is waited for; None once the time is over."""
        while not self._lines:
            if prompt and self._lines.take_prompt():
                return ">"
            left_s = ends_s - self._monotonic()
            if left_s <= 0:
                return None
            self._lines.feed(self._wire.read(left_s))
        return self._lines.pop()

    def _ends(self, awaited: _Awaited, line: str) -> bool:
        """Sorts one line; True at the end of the answer. Raises ModemRefused where that is a refusal."""
        line = _without_noise(line, awaited.prefix)
        if line == awaited.command:
            # ATE0 itself is echoed by every modem; any later echo tells of a reset (see pdu_mode.py)
            self.echo_seen = self.echo_seen or not awaited.command.startswith("ATE")
            return False
        if line.startswith(ANSWERS_ONLY) and not line.startswith(awaited.prefix or "\0"):
            self._result_is_late = True
            return False
        if self._result_is_late and is_result(line):
            # the late answer's own result: ours is still to come
            self._result_is_late = False
            return False
        if is_result(line):
            _raise_refusal(awaited.command, line)
            return True
        self._sort(awaited, line)
        return False

    def _sort(self, awaited: _Awaited, line: str) -> None:
        """A line that is no result: the answer's, unasked, or noise."""
        if self._head_awaiting_pdu is not None and HEX_LINE.match(line):
            # before the answer's own content: a report may come between a +CMGL header and its PDU
            self._tell(line)
        elif awaited.begins(line):
            awaited.lines.append(line)
        elif UNASKED.match(line):
            self._tell(line)
        elif awaited.bare or awaited.lines or (awaited.prefix in READS_PDUS and HEX_LINE.match(line)):
            # a PDU whose header was lost: unseen, its memory would count as listed whole
            awaited.lines.append(line)

    def _tell(self, line: str) -> None:
        if self._head_awaiting_pdu is not None and HEX_LINE.match(line):
            head, self._head_awaiting_pdu = self._head_awaiting_pdu, None
            self._unasked(Unasked(line=head, pdu=line))
        elif line.startswith(WITH_PDU):
            self._head_awaiting_pdu = line
        else:
            self._unasked(Unasked(line=line))


def _without_noise(line: str, prefix: str) -> str:
    """The answer in a line that noise came before; the line as it is where that is no noise."""
    at = line.find(prefix) if prefix else 0
    return line[at:] if at > 0 and not UNASKED.match(line) else line


def _raise_refusal(command: str, result: str) -> None:
    """Raises ModemRefused for every result but OK."""
    if result in PLAIN_ERRORS:
        raise ModemRefused(f"{command} was refused", raw=result)
    error = FINAL_ERROR.match(result)
    if error:
        family, reason = error[1], error[2]
        code = int(reason) if reason.strip().isdecimal() else None
        raise ModemRefused(f"{command} was refused: {result}", family=family.lower(), code=code, raw=reason)
