"""PDU mode, made sure of before each message.

A silent reset brings back text mode. There the length that +CMGS is given is a number, and the PDU its words: a message went to the
number "86", and the modem said that it was sent.

The modem is asked, unless what it said a moment ago shows it: no modem comes back from a reset so soon. And should one do, its
echo is back with the text mode, and is noticed before the PDU is handed over.
"""

import re
from collections.abc import Callable

from gateway.errors import ModemRefused
from gateway.modem.dialogue import Dialogue
from gateway.modem.parse_listing import IN_TEXT_MODE, ResetSeen

RESET_TAKES_S = 0.5
"""From a reset to the next answer a modem takes seconds (common practice)."""


class PduMode:
    """Whether the modem still is as it was set up. Times are monotonic seconds."""

    def __init__(self, dialogue: Dialogue, *, within_s: float, monotonic: Callable[[], float]) -> None:
        self._dialogue = dialogue
        self._within_s = within_s
        self._monotonic = monotonic
        self._shown_s = float("-inf")
        self._always_echoes = False

    def note_echo(self) -> None:
        """After ATE0: a modem that echoes all the same tells nothing by it."""
        self._always_echoes, self._dialogue.echo_seen = self._dialogue.echo_seen, False

    @property
    def echo_is_back(self) -> bool:
        """The modem echoes, which it was told not to: it was reset."""
        return self._dialogue.echo_seen and not self._always_echoes

    def was_shown(self) -> None:
        """What the modem just said, it says in PDU mode."""
        self._shown_s = self._monotonic()

    def make_sure(self) -> None:
        """PDU mode for certain. Raises ResetSeen in text mode, ModemSilent."""
        if not self._always_echoes and self._monotonic() - self._shown_s < RESET_TAKES_S:
            return
        lines = self._ask()
        if self.echo_is_back or any(re.match(r"\+CMGF:\s*1", line) for line in lines):
            raise ResetSeen(IN_TEXT_MODE)
        if not any(re.match(r"\+CMGF:\s*0", line) for line in lines):
            self._dialogue.command("AT+CMGF=0", within_s=self._within_s)

    def make_sure_at_prompt(self) -> None:
        """The last look before the PDU. Raises ResetSeen, the prompt left."""
        if self.echo_is_back:
            self._dialogue.resynchronise(within_s=self._within_s)
            raise ResetSeen(IN_TEXT_MODE)

    def _ask(self) -> list[str]:
        try:
            return self._dialogue.command("AT+CMGF?", within_s=self._within_s)
        except ModemRefused:
            return []
