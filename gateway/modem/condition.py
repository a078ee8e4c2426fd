"""What the modem says of itself: signal, registration, operator, SIM; and whether a change of it is worth telling.

A modem is registered in up to four ways, each with a name of its own: with the network of calls and texts (+CREG), and with those of packets,
of which LTE carries texts too (+CEREG). An LTE stick says "not registered" to the first, and texts come and go all the same: so it has a
network where any of them says so. The last word counts, asked or not.
Source: 3GPP TS 27.007 7.2 (+CREG, and which <stat> there are), 7.3 (+COPS), 8.5 (+CSQ).
"""

import re
from bisect import bisect
from collections.abc import Collection, Sequence

from gateway.errors import ModemRefused, ModemSilent
from gateway.gsm.signal_strength import WEAK_PERCENT, WELL_PERCENT
from gateway.modem.dialogue import Dialogue, Times
from gateway.modem.grammar import figures, is_answer, name_and_fields
from gateway.modem.sim import SIM_IS_BUSY, SimLock
from gateway.ports import Condition

STRONGEST_SIGNAL = 31
REGISTRATIONS = ("+CREG", "+CEREG", "+CGREG", "+C5GREG")
REGISTERED = frozenset({1, 5, 6, 7, 9, 10})
"""<stat>: home, roaming; for texts only, at home and roaming (6, 7); registered with calls over another network (9, 10). Not 8: emergency
calls only, and not 0 to 4."""
SIGNAL_STEP_PERCENT = 25


class Gauges:
    """Reads them; the operator only where it is not known or the registration changed, for some makes take seconds to name it."""

    def __init__(self, dialogue: Dialogue, sim: SimLock, times: Times) -> None:
        self._dialogue, self._sim, self._times = dialogue, sim, times
        self._stats: dict[str, int] = {}
        self._unknown_names: set[str] = set()
        self._operator: str | None = None
        self._operator_of: dict[str, int] | None = None

    def read(self) -> Condition:
        """The condition now. Raises ModemSilent."""
        signal = self._figures("AT+CSQ")
        self._read_registration()
        if self._operator is None or self._stats != self._operator_of:
            self._operator_of, self._operator = dict(self._stats), self._read_operator()
        return Condition(
            signal_percent=signal_percent(signal),
            registered=is_registered(self._stats.values()),
            operator=self._operator,
            sim=self._sim.state_in_words(),
        )

    def hear(self, line: str) -> bool:
        """News of a registration; whether it is another than before."""
        name, fields = name_and_fields(line)
        if name not in REGISTRATIONS or not figures(fields) or is_answer(name, line):
            return False
        before, self._stats[name] = self._stats.get(name), figures(fields)[0]
        return before != self._stats[name]

    def _read_registration(self) -> None:
        """Of one name after the other, until one says that there is a network."""
        for name in REGISTRATIONS:
            if name in self._unknown_names:
                continue
            stat = self._stat(name)
            if stat is not None:
                self._stats[name] = stat
            if self._stats.get(name) in REGISTERED:
                return

    def _stat(self, name: str) -> int | None:
        try:
            lines = self._dialogue.command(f"AT{name}?", within_s=self._times.command_s)
        except ModemRefused as refused:
            if refused.code not in SIM_IS_BUSY:
                self._unknown_names.add(name)
                self._stats.pop(name, None)
            return None
        said = figures(name_and_fields(lines[-1])[1]) if lines else []
        return said[1] if len(said) > 1 else None

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


def is_registered(stats: Collection[int]) -> bool | None:
    """Whether any <stat> says that there is a network for texts; None where nothing was said."""
    return any(stat in REGISTERED for stat in stats) if stats else None


def differs(old: Condition, new: Condition) -> bool:
    """Whether anybody would care: another band or a large step of the signal, or anything else."""
    was_percent, is_percent = old.signal_percent or 0, new.signal_percent or 0
    bands = (WEAK_PERCENT, WELL_PERCENT)
    other_band = bisect(bands, was_percent) != bisect(bands, is_percent)
    large_step = abs(was_percent - is_percent) >= SIGNAL_STEP_PERCENT
    return (
        large_step
        or other_band
        or (old.registered, old.operator, old.sim, old.memories)
        != (new.registered, new.operator, new.sim, new.memories)
    )
