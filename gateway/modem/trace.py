"""Every octet between the gateway and its modem → lines that somebody far away can read: time-stamped, masked, bounded.

    2026-11-26T09:00:00.123+00:00 > AT+CMGS=25
    2026-11-26T09:00:00.151+00:00 < +CMGS: 7

Masked is whatever may be somebody's: words in quotes, runs of four figures and more, PDUs, whatever is no line of a form that
modems have (a text in text mode). The modem's make and model are shown, and its serial number is not.
"""

import os
import re
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from gateway.modem.dialogue import Wire
from gateway.modem.grammar import is_known_news
from gateway.modem.lines import Lines, is_result

MOST_OCTETS = 512 * 1024
"""Of each of two files: the newer half is kept when the file is full."""
KEPT_WORDS = frozenset(
    {
        "SM",
        "ME",
        "MT",
        "SR",
        "BM",
        "TA",
        "READY",
        "SIM PIN",
        "SIM PUK",
        "SIM PIN2",
        "SIM PUK2",
        "GSM",
        "UCS2",
        "IRA",
        "REC UNREAD",
        "REC READ",
    }
)
SHOWS_ITSELF = ("AT+CGMI", "AT+CGMM", "AT+CGMR", "ATI")
HEX_LINE = re.compile(r"^(?:[0-9A-Fa-f]{2}){6,}\x1a?$")
QUOTED = re.compile(r'"([^"]*)"')
RUN = re.compile(r"\+?\b[0-9A-Fa-f]*[0-9][0-9A-Fa-f]{3,}\b|\+?\d{4,}|\b[0-9][0-9A-Fa-f]{3,}\b")
LINE = re.compile(rb"\d{4}-\d\d-\d\dT\S+ [<>] ")
COMMAND = re.compile(r"^AT(?:[+^*#%$&A-Z]|$)")
PLAIN = re.compile(r"^(?:>|AT(?:[+^*#%$&][A-Z0-9]+(?:[=?].*)?|[A-Z]\d?)*|OK|[+^*#%$_][A-Z0-9]+:.*)$")


class Masker:
    """What was said → what may be shown of it; knows the command that was said last."""

    def __init__(self) -> None:
        self._command = ""

    def masked(self, line: str) -> str:
        """One line of either side."""
        if COMMAND.match(line):
            self._command = line
        if HEX_LINE.match(line):
            return f"({len(line.rstrip(chr(0x1A))) // 2} octets)"
        if line == "\x1b":
            return "(ESC)"
        if line.startswith("AT+CPIN="):
            return 'AT+CPIN="****"'
        if self._is_of_a_form(line):
            head, colon, behind = line.partition("=" if line.startswith("AT") else ":")
            masked = QUOTED.sub(_shown_word, behind if colon else head)
            masked = RUN.sub("####", masked)
            return f"{head}{colon}{masked}" if colon else masked
        if self._command.startswith(SHOWS_ITSELF) and line.isascii():
            return re.sub(r"\d{7,}", "####", line)
        return f"({len(line)} characters)"

    def _is_of_a_form(self, line: str) -> bool:
        return PLAIN.match(line) is not None or is_result(line) or is_known_news(line)


def _shown_word(quoted: re.Match[str]) -> str:
    word = quoted[1]
    return f'"{word}"' if word in KEPT_WORDS or not word else '"..."'


class Trace:
    """A file of them. `now` says when; what cannot be written is left: a full disk costs no message."""

    def __init__(self, file: Path, now: Callable[[], datetime], most_octets: int = MOST_OCTETS) -> None:
        self._file, self._now, self._most_octets = file, now, most_octets
        self._masker = Masker()
        self._said, self._heard = Lines(), Lines()

    def said(self, octets: bytes) -> None:
        """The gateway wrote this."""
        ended = octets if octets.endswith(b"\r") else octets + b"\r"
        self._take(self._said, ">", ended)

    def heard(self, octets: bytes) -> None:
        """The modem did."""
        self._take(self._heard, "<", octets)
        if self._heard.take_prompt():
            self._write("<", ">")

    def _take(self, lines: Lines, side: str, octets: bytes) -> None:
        lines.feed(octets)
        while lines:
            self._write(side, self._masker.masked(lines.pop()))

    def _write(self, side: str, shown: str) -> None:
        text = "".join(char if char.isprintable() else "?" for char in shown)
        line = f"{self._now().isoformat(timespec='milliseconds')} {side} {text}\n".encode()
        try:
            descriptor = os.open(
                self._file, os.O_WRONLY | os.O_CREAT | os.O_APPEND | os.O_NOFOLLOW | os.O_CLOEXEC, 0o600
            )
        except OSError:
            return
        try:
            os.write(descriptor, line)
            full = os.fstat(descriptor).st_size >= self._most_octets
        except OSError:
            full = False
        finally:
            os.close(descriptor)
        if full:
            self._file.replace(self._file.with_name(f"{self._file.name}.old"))


def is_trace(file: Path) -> bool:
    """Whether that file is a trace, or has nothing in it."""
    with file.open("rb") as there:
        first = there.readline(MOST_OCTETS)
    return not first or LINE.match(first) is not None


class TracedWire:
    """A wire of which everything is traced."""

    def __init__(self, wire: Wire, trace: Trace) -> None:
        self._wire, self._trace = wire, trace

    def read(self, timeout_s: float, *, wakeable: bool = False) -> bytes:
        """What came."""
        octets = self._wire.read(timeout_s, wakeable=wakeable)
        if octets:
            self._trace.heard(octets)
        return octets

    def write(self, data: bytes) -> None:
        """Everything leaves."""
        self._trace.said(data)
        self._wire.write(data)
