"""Commands whose answer may have to be waited for: a SIM is busy for seconds after power-up (+CME ERROR: 14)."""

from collections.abc import Callable

from gateway.errors import ModemRefused
from gateway.modem.dialogue import Dialogue

CME_SIM_BUSY = (14, 515, 256)
SETTLE_TRIES, BETWEEN_TRIES_S = 10, 1.0


class Asking:
    """Asks, and again while the SIM is busy."""

    def __init__(self, dialogue: Dialogue, *, within_s: float, pause: Callable[[float], None]) -> None:
        self._dialogue = dialogue
        self._within_s = within_s
        self._pause = pause

    def ask(self, command: str) -> list[str]:
        """The lines of the answer. Raises ModemRefused, ModemSilent."""
        for _ in range(SETTLE_TRIES):
            try:
                return self._dialogue.command(command, within_s=self._within_s)
            except ModemRefused as no:
                if no.code not in CME_SIM_BUSY:
                    raise
                self._pause(BETWEEN_TRIES_S)
        return self._dialogue.command(command, within_s=self._within_s)

    def grants(self, command: str) -> bool:
        """Whether the modem does it. Raises ModemSilent."""
        try:
            self.ask(command)
        except ModemRefused:
            return False
        return True
