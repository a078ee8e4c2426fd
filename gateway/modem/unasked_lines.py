"""What a modem says unasked, put together where it takes two lines: +CDS and +CMT with the PDU, or in text mode the words, behind them.

The second line may come in another read, behind other news, or in the midst of an answer. In PDU mode it is hexadecimal; in text mode it is
whatever people write, "OK" too. Which mode it is shows in how many fields the first one has. Source: 3GPP TS 27.005 3.4.1.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass

from gateway.modem.grammar import fields_in, is_known_news
from gateway.modem.lines import is_news, is_result

WITH_PDU = ("+CDS:", "+CMT:", "+CBM:")
MOST_FIELDS_IN_PDU_MODE = 2
"""`+CMT: [<alpha>],<length>`, `+CDS: <length>` (27.005 3.4.1); in text mode at least three stand there."""
HEX_LINE = re.compile(r"^[0-9A-Fa-f]{6,}$")
ANSWERS_ONLY = ("+CMGL:", "+CMGR:", "+CMGS:", "+CPMS:")
"""Never unasked: where another answer is awaited, the late answer to a command that was given up; its result is no other's."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unasked:
    """One unasked line; `pdu` is the line that came with it (+CDS, +CMT), `words` what did in text mode ("" where it all stands in the line)."""

    line: str
    pdu: str | None = None
    words: str | None = None


class UnaskedLines:
    """Lines one after another, each whole piece of news told once; those of no known form are `unknown` too."""

    def __init__(self, told: Callable[[Unasked], None], unknown: Callable[[str], None]) -> None:
        self._told, self._unknown = told, unknown
        self._head_awaiting_pdu: str | None = None
        self._head_awaiting_words: str | None = None
        self._words: list[str] = []

    @property
    def awaits_pdu(self) -> bool:
        """Whether the next hexadecimal line is of news."""
        return self._head_awaiting_pdu is not None

    def tell(self, line: str) -> None:
        """A line that is no answer."""
        if self.takes(line):
            return
        if self._head_awaiting_pdu is not None and HEX_LINE.match(line):
            head, self._head_awaiting_pdu = self._head_awaiting_pdu, None
            self._told(Unasked(line=head, pdu=line))
        elif not line.startswith(WITH_PDU):
            if not is_known_news(line) and not line.startswith(ANSWERS_ONLY):
                self._unknown(line)
            self._told(Unasked(line=line))
        elif len(fields_in(line.partition(":")[2])) <= MOST_FIELDS_IN_PDU_MODE:
            self._head_awaiting_pdu = line
        elif line.startswith("+CDS:"):
            self._told(Unasked(line=line, words=""))
        else:
            self._head_awaiting_words = line

    def takes(self, line: str) -> bool:
        """Whether a line is what stands behind a +CMT in text mode: the next one whatever it says, and what came with it and has no form
        of its own."""
        if self._head_awaiting_words is None:
            return False
        if not self._words and self._is_pdu_of_head(line):
            head, self._head_awaiting_words = self._head_awaiting_words, None
            self._told(Unasked(line=head, pdu=line))
            return True
        if self._words and (is_result(line) or is_news(line) or line.startswith((*ANSWERS_ONLY, "AT", ">"))):
            self.end_words()
            return False
        self._words.append(line)
        return True

    def end_words(self) -> None:
        """Nothing more came with it."""
        if self._head_awaiting_words is None or not self._words:
            return
        head, words = self._head_awaiting_words, "\n".join(self._words)
        self._head_awaiting_words, self._words = None, []
        self._told(Unasked(line=head, words=words))

    def _is_pdu_of_head(self, line: str) -> bool:
        """Whether it is as long as the last field of the +CMT says: a name with a comma in it, without quotes, made it look like text mode."""
        fields = fields_in((self._head_awaiting_words or "").partition(":")[2])
        length = fields[-1].value if fields else ""
        return length.isdecimal() and HEX_LINE.match(line) is not None and tpdu_octets_in(line) == int(length)


def tpdu_octets_in(pdu: str) -> int:
    """How many octets stand behind the service centre's address (27.005 3.1, <length>)."""
    return len(pdu) // 2 - 1 - int(pdu[:2], 16)
