"""The SIM's lock: READY, or the PIN once ever; a PUK is never answered. Source: 3GPP TS 27.007 8.3 (+CPIN), 9.2 (errors)."""

import re
from collections.abc import Callable
from dataclasses import dataclass

from gateway.errors import ModemRefused, SimTrouble
from gateway.modem.asking import CME_SIM_BUSY, Asking
from gateway.modem.dialogue import Dialogue


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """The SIM's PIN and the record of having tried it: one try, ever."""

    pin: str | None
    tried: Callable[[], bool]
    mark_tried: Callable[[], None]


class SimLock:
    """What the SIM says of itself, and the one try of its PIN."""

    def __init__(self, dialogue: Dialogue, asking: Asking, pin: Pin) -> None:
        self._dialogue, self._asking, self._pin = dialogue, asking, pin

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
        self._pin.mark_tried()
        try:
            self._dialogue.command(f'AT+CPIN="{self._pin.pin}"', within_s=20)
        except ModemRefused as no:
            raise SimTrouble(f"the SIM refused the PIN ({no.raw}); it is not tried again", raw=no.raw) from None
        state = self._state()
        if state != "READY":
            raise SimTrouble(f"the SIM is not ready after its PIN: {state}", raw=state)

    def said(self) -> str:
        """`ready`, or what is wrong."""
        try:
            state = self._state()
        except SimTrouble as trouble:
            return trouble.said
        return "ready" if state == "READY" else state

    def _state(self) -> str:
        try:
            lines = self._asking.ask("AT+CPIN?")
        except ModemRefused as no:
            if no.code in CME_SIM_BUSY:
                raise SimTrouble("the SIM is busy and stays busy") from None
            raise SimTrouble(f"there is no SIM, or it fails ({no.raw})", raw=no.raw) from None
        return lines[0].partition(":")[2].strip() if lines else "unknown"
