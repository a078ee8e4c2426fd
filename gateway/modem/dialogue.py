"""AT commands → their answers, with whatever the modem says unasked kept apart.

A line belongs to the answer if it is a final result, or begins with the prefix of the command in flight, or follows such a
line as its content (a PDU). Any other line that begins like an announcement is told to `unasked`, wherever it stands: before
the first line of an answer, between a header and its PDU, several in one read. Bytes are never decoded as anything but
Latin-1: noise is a line like another, and no byte can end the reader.
Source: 3GPP TS 27.007 4 and 27.005; ITU-T V.250.
"""

import re
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

from gateway.errors import ModemRefused, ModemSilent
from gateway.modem.quoted import Quoted

FINAL_ERROR = re.compile(r"^\+(CME|CMS) ERROR:\s*(.*)$")
PLAIN_ERRORS = ("ERROR", "COMMAND NOT SUPPORT", "TOO MANY PARAMETERS")
OF_A_CALL = r"RING\b|CONNECT\b|NO CARRIER$|BUSY$|NO ANSWER$|NO DIAL ?TONE$"
"""Results of dialling and answering (V.250 6.3.1). Nothing here dials, so they tell of a call that somebody else made: taken for
results, they sent messages twice and told a household that there was no SIM."""
UNASKED = re.compile(
    rf"^(\+[A-Z]{{2,}}[A-Z0-9]*[:=]|\^[A-Z]|\*[A-Z]|{OF_A_CALL}|RDY\b|Call Ready|SMS Ready|PB DONE|\$[A-Z])"
)
WITH_PDU = ("+CDS:", "+CMT:", "+CBM:")
HEX_LINE = re.compile(r"^[0-9A-Fa-f]{6,}$")
CTRL_Z, ESC = b"\x1a", b"\x1b"
LONGEST_LINE_OCTETS = 2048
ANSWERS_ONLY = ("+CMGL:", "+CMGR:", "+CMGS:", "+CPMS:")
"""Never unasked: where another answer is awaited, the late answer to a command that was given up; its result is no other's."""
SETTLE_S = 0.15
"""A result that was left over follows this soon on another."""
RESYNCHRONISE_TRIES = 5


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
class _Flight:
    """The command in flight."""

    command: str
    prefix: str
    bare: bool
    lines: list[str] = field(default_factory=list)


class Dialogue:
    """One owner of the whole exchange."""

    def __init__(self, wire: Wire, monotonic: Callable[[], float], unasked: Callable[[Unasked], None]) -> None:
        self._wire = wire
        self._monotonic = monotonic
        self._unasked = unasked
        self._buffer = bytearray()
        self._ready: deque[str] = deque()
        self._quoted = Quoted()
        self._awaits_pdu: str | None = None
        self._late = False
        self.echo_seen = False

    def command(self, command: str, *, within_s: float = 5.0, bare: bool = False) -> list[str]:
        """The lines of the answer before OK. `bare`: the answer has no prefix (+CGMM). Raises ModemRefused, ModemSilent."""
        flight = _Flight(command=command, prefix=_prefix(command), bare=bare)
        self._begin(command.encode("ascii") + b"\r")
        ends = self._monotonic() + within_s
        while True:
            line = self._line(ends)
            if line is None:
                raise ModemSilent(f"no answer to {command} within {within_s:g} s", raw=" / ".join(flight.lines))
            if self._final(flight, line):
                return flight.lines

    def prompt(self, command: str, *, within_s: float) -> None:
        """Sends a command that asks for text and waits for the modem's `>`. Nothing is handed over yet."""
        flight = _Flight(command=command, prefix=_prefix(command), bare=False)
        self._begin(command.encode("ascii") + b"\r")
        ends = self._monotonic() + within_s
        while True:
            line = self._line(ends, prompt=True)
            if line is None:
                raise ModemSilent(f"no prompt after {command} within {within_s:g} s")
            if line == ">":
                return
            if self._final(flight, line):
                raise ModemRefused(f"{command} was answered without a prompt", raw=line)

    def hand_over(self, pdu: str, command: str, *, within_s: float) -> list[str]:
        """Hands the PDU over and waits for its result. A ModemSilent from here means: its fate is unknown."""
        flight = _Flight(command=command, prefix=_prefix(command), bare=False)
        self._begin(pdu.encode("ascii") + CTRL_Z)
        ends = self._monotonic() + within_s
        while True:
            line = self._line(ends)
            if line is None:
                raise ModemSilent(f"no result after the text within {within_s:g} s")
            if line.strip("> \x1a").upper() == pdu.upper():
                continue
            if self._final(flight, line):
                return flight.lines

    def resynchronise(self, *, within_s: float = 2.0, settle_s: float = SETTLE_S) -> bool:
        """ESC out of any prompt, then AT until it is answered once and no more, twice in a row; whatever was left over is let go.

        A command that was given up may be answered yet: its result would be taken for the next one's, and so on for ever.
        """
        self._late = False
        self._wire.write(ESC)
        once = 0
        for _ in range(RESYNCHRONISE_TRIES):
            once = once + 1 if self.answers_once(within_s=within_s, settle_s=settle_s) else 0
            if once == 2:
                return True
        return False

    def answers_once(self, *, within_s: float, settle_s: float = SETTLE_S) -> bool:
        """Whether AT brings one result, and no other follows at once."""
        self._begin(b"AT\r")
        results, ends = 0, self._monotonic() + within_s
        while (line := self._line(ends)) is not None:
            if _is_result(line):
                results, ends = results + 1, self._monotonic() + settle_s
            elif self._awaits_pdu is not None or UNASKED.match(line):
                self._tell(line)
        return results == 1

    def listen(self, timeout_s: float) -> None:
        """Waits for something unasked, or for a wake-up."""
        if not self._ready:
            self._take(self._wire.read(timeout_s, wakeable=True))
        self.tell_rest()

    def _begin(self, data: bytes) -> None:
        """What was said before this command is no answer to it."""
        self.tell_rest()
        self._wire.write(data)

    def tell_rest(self) -> None:
        """What came behind an answer in the same read (a delivery report, say)."""
        while self._ready:
            self._tell(self._ready.popleft())

    def _final(self, flight: _Flight, line: str) -> bool:
        """Sorts one line; True at the end of the answer."""
        line = _without_noise(line, flight.prefix)
        if line == flight.command:
            self.echo_seen = self.echo_seen or not flight.command.startswith("ATE")
            return False
        if line.startswith(ANSWERS_ONLY) and not line.startswith(flight.prefix or "\0"):
            self._late = True
            return False
        if self._late and _is_result(line):
            self._late = False
            return False
        if line == "OK":
            return True
        error = FINAL_ERROR.match(line)
        if error:
            raise _refused(flight.command, error[1], error[2])
        if line in PLAIN_ERRORS:
            raise ModemRefused(f"{flight.command} was refused", raw=line)
        if self._awaits_pdu is not None and HEX_LINE.match(line):
            self._tell(line)
        elif flight.prefix and line.startswith(flight.prefix) and not _is_unasked_form(flight, line):
            flight.lines.append(line)
        elif UNASKED.match(line):
            self._tell(line)
        elif flight.bare or flight.lines:
            flight.lines.append(line)
        return False

    def _tell(self, line: str) -> None:
        if self._awaits_pdu is not None and HEX_LINE.match(line):
            head, self._awaits_pdu = self._awaits_pdu, None
            self._unasked(Unasked(line=head, pdu=line))
        elif line.startswith(WITH_PDU):
            self._awaits_pdu = line
        else:
            self._unasked(Unasked(line=line))

    def _line(self, ends: float, *, prompt: bool = False) -> str | None:
        """The next line; `>` at a prompt that is waited for; None once the time is over."""
        while not self._ready:
            if prompt and self._at_prompt():
                self._buffer.clear()
                return ">"
            left = ends - self._monotonic()
            if left <= 0:
                return None
            self._take(self._wire.read(left))
        return self._ready.popleft()

    def _take(self, data: bytes) -> None:
        self._buffer += data
        self._ready.extend(self._complete())

    def _at_prompt(self) -> bool:
        return self._buffer.strip() == b">"

    def _complete(self) -> list[str]:
        *done, rest = re.split(rb"[\r\n]+", bytes(self._buffer))
        self._buffer[:] = rest[-LONGEST_LINE_OCTETS:]
        lines = (line.strip(b" \x00").decode("latin-1") for line in done)
        return [whole for line in lines if line for whole in self._quoted.take(line)]


def _prefix(command: str) -> str:
    """`AT+CMGL=4` → `+CMGL:`; empty where the answer has none."""
    found = re.match(r"^AT([+^][A-Z]+)", command)
    return f"{found[1]}:" if found else ""


def _is_result(line: str) -> bool:
    """Whether it ends an answer, well or not."""
    return line == "OK" or line in PLAIN_ERRORS or FINAL_ERROR.match(line) is not None


def _without_noise(line: str, prefix: str) -> str:
    """The answer in a line that noise came before; the line as it is where that is no noise."""
    at = line.find(prefix) if prefix else 0
    return line[at:] if at > 0 and not UNASKED.match(line) else line


def _is_unasked_form(flight: _Flight, line: str) -> bool:
    """`+CREG: 1` is news; the answer to a question has two figures."""
    return flight.prefix in ("+CREG:", "+CGREG:") and "," not in line


def _refused(command: str, family: str, said: str) -> ModemRefused:
    code = int(said) if said.strip().isdecimal() else None
    return ModemRefused(f"{command} was refused: +{family} ERROR: {said}", family=family.lower(), code=code, raw=said)
