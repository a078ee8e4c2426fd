"""A short code → what the network answers to it (USSD), one question at a time, while texts go on coming and going.

The modem takes the question at once and says the answer later, unasked: nothing waits for it. No answer in time is an answer too:
None, and why. A menu (+CUSD: 1) is read and left. Source: 3GPP TS 27.007 7.15 (+CUSD), TS 23.038 5 (dcs: 15 the default alphabet,
72 UCS2), TS 23.038 6.1.2.3 (seven-bit octets in hexadecimal, as some makes hand them over).
"""

import re
import threading
from collections import deque
from collections.abc import Callable

from gateway.errors import ModemRefused
from gateway.gsm.alphabet import from_septets, unpack_octets
from gateway.modem.dialogue import Dialogue
from gateway.phone_numbers import is_network_code
from gateway.ports import NetworkSaid

PREFIX = "+CUSD:"
ANSWER = re.compile(r'^\+CUSD:\s*(\d)(?:\s*,\s*"(.*)"(?:\s*,\s*(\d+))?)?\s*$', re.DOTALL)
HEX = re.compile(r"^(?:[0-9A-Fa-f]{2})+$")
UCS2_GROUPS = (0x08, 0x48)
LEAST_PACKED_OCTETS = 5
MENU, NOT_SUPPORTED, TIMED_OUT = 1, 4, 5
COMMAND_WITHIN_S = 10.0


class Questions:
    """`ask` from any thread; the rest belongs to the modem's own."""

    def __init__(self, monotonic: Callable[[], float], tell: Callable[[NetworkSaid], None], within_s: float) -> None:
        self._monotonic, self._tell, self._within_s = monotonic, tell, within_s
        self._lock = threading.Lock()
        self._waiting: deque[str] = deque()
        self._asked: str | None = None
        self._ends_s = 0.0
        self._leave_is_owed = False

    def ask(self, code: str) -> None:
        """It is asked when nothing more urgent is to do."""
        with self._lock:
            self._waiting.append(code)

    @property
    def due_s(self) -> float:
        """When it wants to be looked at again, whatever else happens; monotonic seconds."""
        return self._ends_s if self._asked is not None else float("inf")

    def step(self, dialogue: Dialogue) -> bool:
        """Does the next thing, if there is one. Raises what the dialogue raises."""
        if self._leave_is_owed:
            self._leave_is_owed = False
            self._leave_dialogue(dialogue)
            return True
        if self._asked is not None:
            return self._overdue()
        with self._lock:
            code = self._waiting.popleft() if self._waiting else None
        if code is None:
            return False
        self._begin(dialogue, code)
        return True

    def hear(self, line: str) -> None:
        """An answer; one that nobody waits for is let go."""
        if self._asked is None:
            return
        text, why, is_menu = answer_in(line)
        self._leave_is_owed = is_menu
        self._settle(text, why)

    def lose(self, why: str) -> None:
        """The modem went away."""
        self._leave_is_owed = False
        self._settle(None, why)

    def _begin(self, dialogue: Dialogue, code: str) -> None:
        self._asked, self._ends_s = code, self._monotonic() + self._within_s
        if not is_network_code(code):
            self._settle(None, "this is no code that a network knows")
            return
        try:
            lines = dialogue.command(f'AT+CUSD=1,"{code}",15', within_s=COMMAND_WITHIN_S)
        except ModemRefused as refused:
            self._settle(None, f"the modem refused it ({refused.raw or refused.said})")
            return
        for line in lines:
            self.hear(line)

    def _overdue(self) -> bool:
        if self._monotonic() < self._ends_s:
            return False
        self._leave_is_owed = True
        self._settle(None, f"no answer within {self._within_s:g} s")
        return True

    def _leave_dialogue(self, dialogue: Dialogue) -> None:
        """Out of a menu, or of waiting; a refusal means that it is over already."""
        try:
            dialogue.command("AT+CUSD=2", within_s=COMMAND_WITHIN_S)
        except ModemRefused:
            return

    def _settle(self, text: str | None, why: str) -> None:
        """Tells the answer to the question that was asked, once."""
        if self._asked is None:
            return
        code, self._asked = self._asked, None
        self._tell(NetworkSaid(code=code, said=text, why=why))


def answer_in(line: str) -> tuple[str | None, str, bool]:
    """(what was said or None, why not, whether it is a menu that waits for more)."""
    answer = ANSWER.match(line)
    if answer is None:
        return None, f"the answer is garbled: {line}", False
    kind = int(answer[1])
    if answer[2] is None:
        why = {NOT_SUPPORTED: "the network does not know this code", TIMED_OUT: "the network gave no answer"}
        return None, why.get(kind, "the network ended it without a word"), False
    return decoded(answer[2], int(answer[3]) if answer[3] else 15), "", kind == MENU


def decoded(shown: str, dcs: int) -> str:
    """What the modem shows → text. Hexadecimal only where it can be nothing else; what cannot be decoded stays as it is."""
    if not HEX.match(shown):
        return "".join(
            from_septets(bytes([ord(char)])) if ord(char) < 0x20 and char != "\n" else char for char in shown
        ).strip()
    octets = bytes.fromhex(shown)
    # makes hand the octets over as they came, in UCS2 or still packed, and say so by a dcs that may be wrong: the text itself decides
    if (dcs & 0xCC in UCS2_GROUPS or dcs == 0x11 or shown.startswith("00")) and len(octets) % 2 == 0:
        text = octets.decode("utf-16-be", "replace").strip()
        return text if _readable(text) else shown
    packed = from_septets(unpack_octets(octets, len(octets) * 8 // 7)).rstrip("\r@\n")
    return packed.strip() if len(octets) >= LEAST_PACKED_OCTETS and _readable(packed) and _wordy(packed) else shown


def _readable(text: str) -> bool:
    return bool(text) and "\ufffd" not in text and all(char.isprintable() or char.isspace() for char in text)


def _wordy(text: str) -> bool:
    """Letters enough for a sentence: chance octets are mostly signs."""
    plain = sum(char.isascii() and (char.isalnum() or char in " .,:-/\n") for char in text)
    return plain >= 0.8 * len(text) and any(char.isalpha() for char in text)
