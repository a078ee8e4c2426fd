"""Bytes from a modem → lines, and what kind of line each is: a result, something unasked, or content.

Bytes are never decoded as anything but Latin-1: noise is a line like another, and no byte can end the reader. Any run of carriage
returns and line feeds ends a line, for makes send one, both, or both twice. What stands in quotes in an answer of the network
(+CUSD) may run over several lines and is put together here. Source: ITU-T V.250 5.7 and 6.3.1, 3GPP TS 27.005, 27.007 9.
"""

import re
from collections import deque

from gateway.modem.grammar import OF_A_CALL, is_known_news

FINAL_ERROR = re.compile(r"^\+(CME|CMS) ERROR\b:?\s*(.*)$")
PLAIN_ERRORS = ("ERROR", "COMMAND NOT SUPPORT", "TOO MANY PARAMETERS", "NA")
"""Without a code; the last three are makers' own."""
MAKERS_ERROR = re.compile(r"^(?:MODEM |\+EXT )?ERROR:.*$")
FLOW_CONTROL = bytes((0x11, 0x13))
"""XON and XOFF of a make that keeps to them whatever it was told (V.250 6.2.12, +IFC): anywhere, and never content."""
NAME = re.compile(r"^\+([A-Za-z]{2}[A-Za-z0-9]*(?: ERROR| error)?)\s*:")
"""Of an answer or of news; some makes write it small, or set a space before the colon."""
UNASKED = re.compile(rf"^(\+[A-Z]{{2,}}[A-Z0-9]*[:=]|[\^*#%$][A-Z]|_O[A-Z]|{OF_A_CALL})")
"""How news begins, known or not."""
PDU_BEHIND_HEADER = re.compile(r"^(\+(?:CMG[LR]|CMT|CDS):.*,?\s*\d+)\s+((?:[0-9A-Fa-f]{2}){10,})$")
"""Some makes leave out the line's end between the two."""
LONGEST_LINE_OCTETS = 2048

QUOTE_OPENS_IN = "+CUSD:"
QUOTE_IS_GIVEN_UP_AT = re.compile(r"^(OK|ERROR|NO CARRIER|RDY)$|^\+C[A-Z]{2,}:|^\+(CME|CMS) ERROR")
MOST_QUOTED_LINES = 12
"""A quote whose end was lost on the wire must not swallow all that comes after it."""


def is_result(line: str) -> bool:
    """Whether it ends an answer, well or not."""
    plain = line in ("OK", "ok", "error") or line in PLAIN_ERRORS
    return plain or FINAL_ERROR.match(line) is not None or MAKERS_ERROR.match(line) is not None


def is_news(line: str) -> bool:
    """Whether it is something of the modem's own, known or not."""
    return UNASKED.match(line) is not None or is_known_news(line)


class Lines:
    """Whole lines, in order, out of whatever the reads were cut into."""

    def __init__(self) -> None:
        self._buffer = bytearray()
        self._whole: deque[str] = deque()
        self._open_quote: list[str] = []

    def __bool__(self) -> bool:
        return bool(self._whole)

    def feed(self, octets: bytes) -> None:
        """What a read brought."""
        self._buffer += octets
        *ended, begun = re.split(rb"[\r\n]+", self._buffer.translate(None, FLOW_CONTROL))
        self._buffer[:] = begun[-LONGEST_LINE_OCTETS:]
        for octets_of_line in ended:
            line = octets_of_line.strip(b" \x00").decode("latin-1")
            if line:
                line = NAME.sub(lambda name: f"+{name[1].upper()}:", line)
                both = PDU_BEHIND_HEADER.match(line)
                for piece in both.groups() if both is not None else (line,):
                    self._enter(piece)

    def pop(self) -> str:
        """The next whole line. Raises IndexError where there is none."""
        return self._whole.popleft()

    def put_back(self, line: str) -> None:
        """It is the next line again."""
        self._whole.appendleft(line)

    def take_prompt(self) -> bool:
        """Whether a `>` stands at the end, without a line's end behind it (27.005 3.5.1); it is taken off. News may share its line."""
        waiting = bytes(self._buffer).strip(b" \x00")
        if waiting.startswith(b">"):
            self._buffer[:] = waiting[1:].lstrip()
            return True
        news = waiting[:-1].strip().decode("latin-1") if waiting.endswith(b">") else ""
        if not news or not is_news(news):
            return False
        self._buffer.clear()
        self._enter(news)
        return True

    def _enter(self, line: str) -> None:
        if not self._open_quote:
            if line.startswith(QUOTE_OPENS_IN) and line.count('"') % 2:
                self._open_quote = [line]
            else:
                self._whole.append(line)
        elif QUOTE_IS_GIVEN_UP_AT.match(line):
            self._close_quote()
            self._whole.append(line)
        else:
            self._open_quote.append(line)
            if '"' in line or len(self._open_quote) >= MOST_QUOTED_LINES:
                self._close_quote()

    def _close_quote(self) -> None:
        self._whole.append("\n".join(self._open_quote))
        self._open_quote = []
