"""The SIM: busy for seconds after power-up, then READY or locked. Its PIN is given once, ever; a PUK is never answered.

Three wrong PINs lock a SIM for good as far as a household can tell, and a daemon that starts over and over tries three within a minute.
Source: 3GPP TS 27.007 8.3 (+CPIN), 9.2 (errors).
"""

import re
from collections.abc import Callable
from dataclasses import dataclass

from gateway.errors import ModemRefused, SimTrouble
from gateway.modem.dialogue import Dialogue

SIM_IS_BUSY = (14, 515, 256)
"""+CME ERROR 14 (27.007 9.2), and what some makes say instead."""
SETTLE_TRIES, BETWEEN_TRIES_S = 10, 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """The SIM's PIN and the record of having tried it: one try, ever."""

    pin: str | None
    tried: Callable[[], bool]
    mark_tried: Callable[[], None]


class PatientCommands:
    """Commands that are said again while the SIM is busy."""

    def __init__(self, dialogue: Dialogue, *, within_s: float, pause: Callable[[float], None]) -> None:
        self._dialogue = dialogue
        self._within_s = within_s
        self._pause = pause

    def ask(self, command: str) -> list[str]:
        """The lines of the answer. Raises ModemRefused, ModemSilent."""
        for _ in range(SETTLE_TRIES):
            try:
                return self._dialogue.command(command, within_s=self._within_s)
            except ModemRefused as refused:
                if refused.code not in SIM_IS_BUSY:
                    raise
                self._pause(BETWEEN_TRIES_S)
        return self._dialogue.command(command, within_s=self._within_s)

    def are_granted(self, command: str) -> bool:
        """Whether the modem does it. Raises ModemSilent."""
        try:
            self.ask(command)
        except ModemRefused:
            return False
        return True


class SimLock:
    """What the SIM says of itself, and the one try of its PIN."""

    def __init__(self, dialogue: Dialogue, commands: PatientCommands, pin: Pin) -> None:
        self._dialogue, self._commands, self._pin = dialogue, commands, pin

    def unlock(self) -> None:
        """READY, or the PIN once; a PUK is never answered."""
        state = self._state()
        if state == "READY":
            return
        if "PUK" in state:
            raise SimTrouble("the SIM wants its PUK: take it out and unlock it in a phone", raw=state)
        if state != "SIM PIN":
            raise SimTrouble(f"the SIM is not ready: {state}", raw=state)
        if self._pin.pin is None:
            raise SimTrouble("the SIM wants its PIN: write it into the file that modem.pin_file names", raw=state)
        if self._pin.tried():
            raise SimTrouble(
                "the SIM did not take this PIN before; it is not tried again: mend modem.pin_file", raw=state
            )
        if not re.fullmatch(r"\d{4,8}", self._pin.pin):
            raise SimTrouble("the PIN file holds no PIN (four to eight digits)")
        # marked before it is given: a power cut in between must not give it again
        self._pin.mark_tried()
        try:
            self._dialogue.command(f'AT+CPIN="{self._pin.pin}"', within_s=20)
        except ModemRefused as refused:
            raise SimTrouble(
                f"the SIM refused the PIN ({refused.raw}); it is not tried again", raw=refused.raw
            ) from None
        state = self._state()
        if state != "READY":
            raise SimTrouble(f"the SIM is not ready after its PIN: {state}", raw=state)

    def state_in_words(self) -> str:
        """`ready`, or what is wrong."""
        try:
            state = self._state()
        except SimTrouble as trouble:
            return trouble.said
        return "ready" if state == "READY" else state

    def _state(self) -> str:
        try:
            lines = self._commands.ask("AT+CPIN?")
        except ModemRefused as refused:
            if refused.code in SIM_IS_BUSY:
                raise SimTrouble("the SIM is busy and stays busy") from None
            raise SimTrouble(f"there is no SIM, or it fails ({refused.raw})", raw=refused.raw) from None
        return lines[0].partition(":")[2].strip() if lines else "unknown"
