"""The SIM: busy for seconds after power-up, then READY or locked. Its PIN is given once, ever; a PUK is never answered.

Three wrong PINs lock a SIM for good as far as a household can tell, and a daemon that starts over and over tries three within a minute.
Source: 3GPP TS 27.007 8.3 (+CPIN), 9.2 (errors).
"""

import re
from collections.abc import Callable, Collection
from dataclasses import dataclass

from gateway.errors import ModemRefused, SimTrouble
from gateway.modem.dialogue import Dialogue

SIM_IS_BUSY = (14, 314, 515, 256)
"""+CME ERROR 14 (27.007 9.2), +CMS ERROR 314 (27.005 3.2.5), and what some makes say instead."""
MAY_BE_STARTING = (None, 3, 13, 100, 302, 313, 320, 500)
"""What modems say, beside that, while the SIM or the store of texts is not ready yet: a plain ERROR, "not allowed", "failure", "unknown"."""
SETTLE_TRIES, BETWEEN_TRIES_S = 10, 1.0
STARTING_TRIES = 20
"""Drivers are told to expect a store of texts up to a minute after start; what is not ready by then is asked when the line is opened anew."""
WORKS = ("READY", "SIM PIN2", "SIM PUK2", "PH-NETSUB PIN2")
"""The second PIN locks lists of numbers, and no texts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """The SIM's PIN and the record of having tried it: one try, ever, unless the SIM took it; then it is right, and is given after each
    power-up."""

    pin: str | None
    tried: Callable[[], bool]
    mark_tried: Callable[[], None]
    mark_taken: Callable[[], None] = lambda: None


class PatientCommands:
    """Commands that are said again while the SIM is busy."""

    def __init__(self, dialogue: Dialogue, *, within_s: float, pause: Callable[[float], None]) -> None:
        self._dialogue = dialogue
        self.within_s = within_s
        self._pause = pause

    def ask(self, command: str) -> list[str]:
        """The lines of the answer. Raises ModemRefused, ModemSilent."""
        return self._ask(command, SETTLE_TRIES, SIM_IS_BUSY)

    def ask_while_starting(self, command: str, tries: int = STARTING_TRIES) -> list[str]:
        """The same where nothing goes on without it: what may only be said since the modem is still starting is waited out.

        A store of texts that took six seconds was given up, and people heard false news of the SIM.
        """
        return self._ask(command, tries, (*SIM_IS_BUSY, *MAY_BE_STARTING))

    def _ask(self, command: str, tries: int, passing: Collection[int | None]) -> list[str]:
        for _ in range(tries):
            try:
                return self._dialogue.command(command, within_s=self.within_s)
            except ModemRefused as refused:
                if refused.code not in passing:
                    raise
                self._pause(BETWEEN_TRIES_S)
        return self._dialogue.command(command, within_s=self.within_s)

    def pause(self) -> None:
        """Between two tries."""
        self._pause(BETWEEN_TRIES_S)

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
        self._within_s = commands.within_s

    def unlock(self) -> None:
        """READY, or the PIN once; a PUK is never answered."""
        state = self._state()
        if state in WORKS:
            return
        if "PUK" in state:
            raise SimTrouble("the SIM wants its PUK: take it out and unlock it in a phone", reason="puk", raw=state)
        if state != "SIM PIN":
            raise SimTrouble(f"the SIM is not ready: {state}", raw=state)
        if self._pin.pin is None:
            raise SimTrouble(
                "the SIM wants its PIN: write it into the file that modem.pin_file names", reason="pin", raw=state
            )
        if self._pin.tried():
            raise SimTrouble(
                "the SIM did not take this PIN before; it is not tried again: mend modem.pin_file",
                reason="pin-refused",
                raw=state,
            )
        if not re.fullmatch(r"\d{4,8}", self._pin.pin):
            raise SimTrouble("the PIN file holds no PIN (four to eight digits)", reason="pin")
        # marked before it is given: a power cut in between must not give it again
        self._pin.mark_tried()
        try:
            self._dialogue.command(f'AT+CPIN="{self._pin.pin}"', within_s=self._within_s)
        except ModemRefused as refused:
            raise SimTrouble(
                f"the SIM refused the PIN ({refused.raw}); it is not tried again", reason="pin-refused", raw=refused.raw
            ) from None
        state = self._state_after_pin()
        if state not in WORKS:
            raise SimTrouble(f"the SIM is not ready after its PIN: {state}", raw=state)
        # once it stayed marked as tried: after the next power-up the right PIN was refused in the SIM's name
        self._pin.mark_taken()

    def state_in_words(self) -> str:
        """`ready`, or what is wrong."""
        try:
            state = self._state()
        except SimTrouble as trouble:
            return trouble.said
        return "ready" if state in WORKS else state

    def _state_after_pin(self) -> str:
        """Some makes say that the PIN is wanted for a moment after they took it."""
        for _ in range(SETTLE_TRIES):
            state = self._state()
            if state != "SIM PIN":
                break
            self._commands.pause()
        return state

    def _state(self) -> str:
        try:
            lines = self._commands.ask_while_starting("AT+CPIN?", SETTLE_TRIES)
        except ModemRefused as refused:
            if refused.code in SIM_IS_BUSY:
                raise SimTrouble("the SIM is busy and stays busy", reason="busy") from None
            raise SimTrouble(f"there is no SIM, or it fails ({refused.raw})", raw=refused.raw) from None
        # in quotes on some makes: read as they stood, the PIN was never given
        return lines[-1].partition(":")[2].strip(' "').upper() if lines else "unknown"
