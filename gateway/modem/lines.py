"""Bytes from a modem → lines, and what kind of line each is: a result, something unasked, or content.

Bytes are never decoded as anything but Latin-1: noise is a line like another, and no byte can end the reader. Any run of carriage
returns and line feeds ends a line, for makes send one, both, or both twice. What stands in quotes in an answer of the network
(+CUSD) may run over several lines and is put together here. Source: ITU-T V.250 5.7 and 6.3.1, 3GPP TS 27.005, 27.007 9.
"""

import re
from collections import deque

FINAL_ERROR = re.compile(r"^\+(CME|CMS) ERROR:\s*(.*)$")
PLAIN_ERRORS = ("ERROR", "COMMAND NOT SUPPORT", "TOO MANY PARAMETERS")
OF_A_CALL = r"RING\b|CONNECT\b|NO CARRIER$|BUSY$|NO ANSWER$|NO DIAL ?TONE$"
"""Results of dialling and answering (V.250 6.3.1). Nothing here dials, so they tell of a call that somebody else made: taken for
results, they sent messages twice and told a household that there was no SIM."""
UNASKED = re.compile(
    rf"^(\+[A-Z]{{2,}}[A-Z0-9]*[:=]|\^[A-Z]|\*[A-Z]|{OF_A_CALL}|RDY\b|Call Ready|SMS Ready|PB DONE|\$[A-Z])"
)
LONGEST_LINE_OCTETS = 2048

QUOTE_OPENS_IN = "+CUSD:"
QUOTE_IS_GIVEN_UP_AT = re.compile(r"^(OK|ERROR|NO CARRIER|RDY)$|^\+C[A-Z]{2,}:|^\+(CME|CMS) ERROR")
MOST_QUOTED_LINES = 12
"""A quote whose end was lost on the wire must not swallow all that comes after it."""


def is_result(line: str) -> bool:
    """Whether it ends an answer, well or not."""
    return line == "OK" or line in PLAIN_ERRORS or FINAL_ERROR.match(line) is not None


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
        *ended, begun = re.split(rb"[\r\n]+", bytes(self._buffer))
        self._buffer[:] = begun[-LONGEST_LINE_OCTETS:]
        for octets_of_line in ended:
            line = octets_of_line.strip(b" \x00").decode("latin-1")
            if line:
                self._enter(line)

    def pop(self) -> str:
        """The next whole line. Raises IndexError where there is none."""
        return self._whole.popleft()

    def take_prompt(self) -> bool:
        """Whether a bare `>` stands at the end, without a line's end behind it (27.005 3.5.1); it is taken off."""
        if self._buffer.strip() != b">":
            return False
        self._buffer.clear()
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
