"""What the modem says of itself: signal, registration, operator, SIM; and whether a change of it is worth telling.

Source: 3GPP TS 27.007 7.2 (+CREG), 7.3 (+COPS), 8.5 (+CSQ).
"""

import re
from bisect import bisect
from collections.abc import Sequence

from gateway.errors import ModemRefused, ModemSilent
from gateway.gsm.signal_strength import WEAK_PERCENT, WELL_PERCENT
from gateway.modem.dialogue import Dialogue, Times
from gateway.modem.sim import SimLock
from gateway.ports import Condition

STRONGEST_SIGNAL = 31
HOME, ROAMING = 1, 5
SIGNAL_STEP_PERCENT = 25


class Gauges:
    """Reads them; the operator only where it is not known or the registration changed, for some makes take seconds to name it."""

    def __init__(self, dialogue: Dialogue, sim: SimLock, times: Times) -> None:
        self._dialogue, self._sim, self._times = dialogue, sim, times
        self._registration: list[int] = []
        self._operator: str | None = None

    def read(self) -> Condition:
        """The condition now. Raises ModemSilent."""
        signal, registration = self._figures("AT+CSQ"), self._figures("AT+CREG?")
        if self._operator is None or registration != self._registration:
            self._registration, self._operator = registration, self._read_operator()
        return Condition(
            signal_percent=signal_percent(signal),
            registered=is_registered(registration),
            operator=self._operator,
            sim=self._sim.state_in_words(),
        )

    def _read_operator(self) -> str | None:
        try:
            lines = self._dialogue.command("AT+COPS?", within_s=self._times.command_s * 2)
        except (ModemRefused, ModemSilent):
            return None
        name = re.search(r'"([^"]*)"', lines[0]) if lines else None
        return name[1] if name else None

    def _figures(self, command: str) -> list[int]:
        try:
            lines = self._dialogue.command(command, within_s=self._times.command_s)
        except ModemRefused:
            return []
        return [int(figure) for figure in re.findall(r"\d+", lines[0].partition(":")[2])] if lines else []


def signal_percent(figures: Sequence[int]) -> float | None:
    """+CSQ 0..31 → percent; 99 is unknown (27.007 8.5)."""
    known = bool(figures) and figures[0] <= STRONGEST_SIGNAL
    return round(figures[0] / STRONGEST_SIGNAL * 100) if known else None


def is_registered(figures: Sequence[int]) -> bool | None:
    """+CREG: 1 home, 5 roaming (27.007 7.2)."""
    return None if len(figures) < 2 else figures[1] in (HOME, ROAMING)


def differs(old: Condition, new: Condition) -> bool:
    """Whether anybody would care: another band or a large step of the signal, or anything else."""
    was_percent, is_percent = old.signal_percent or 0, new.signal_percent or 0
    bands = (WEAK_PERCENT, WELL_PERCENT)
    other_band = bisect(bands, was_percent) != bisect(bands, is_percent)
    large_step = abs(was_percent - is_percent) >= SIGNAL_STEP_PERCENT
    return (
        large_step or other_band or (old.registered, old.operator, old.sim) != (new.registered, new.operator, new.sim)
    )
