"""A battery's rest voltage and temperature → its charge, and what it can give.

Rest means hours without charge or load: a voltage under load reads low, one under charge high. Sources: electrolyte tables (B2: open
circuit 6 · (SG + 0.84)), an AGM table (B3), capacity by temperature (fit to IEEE 485 table 1, B7: the prudent one), self-discharge
5 % a month at 25 °C, doubling every 10 °C (B7). LiFePO4 figures are common practice.
"""

from collections.abc import Mapping
from itertools import pairwise

VOLTS_PER_12V: Mapping[str, tuple[tuple[float, float], ...]] = {
    "lead-acid": ((11.82, 0), (12.0, 10), (12.18, 25), (12.36, 50), (12.54, 75), (12.72, 100)),
    "agm": ((11.7, 0), (12.0, 25), (12.3, 50), (12.6, 75), (12.8, 100)),
    "gel": ((11.7, 0), (12.0, 25), (12.3, 50), (12.6, 75), (12.85, 100)),
    "lifepo4": ((10.0, 0), (12.8, 15), (13.0, 30), (13.1, 50), (13.2, 70), (13.3, 90), (13.4, 100)),
}
DEPTH_LIMIT: Mapping[str, float] = {"lead-acid": 0.5, "agm": 0.5, "gel": 0.5, "lifepo4": 0.8}
"""How much of it may be used: plan with half of a lead battery (B8)."""
UNKNOWN_DEPTH_LIMIT = 0.5

REST_MV_PER_C_PER_12V = 1.2
"""Rest voltage rises about 0.2 mV/°C a cell (from memory): small, and only corrected when a temperature is read."""


def depth_limit(chemistry: str) -> float:
    """Share of the battery that may be used."""
    return DEPTH_LIMIT.get(chemistry, UNKNOWN_DEPTH_LIMIT)


def state_of_charge(volts: float, nominal: float, chemistry: str, celsius: float | None = None) -> float:
    """Percent of charge from the rest voltage, 0..100."""
    table = VOLTS_PER_12V.get(chemistry, VOLTS_PER_12V["lead-acid"])
    return _between(table, volts_at_25(volts, nominal, celsius) * 12 / nominal)


def volts_at_25(volts: float, nominal: float, celsius: float | None) -> float:
    """What the same battery would show at 25 °C; unchanged where its temperature is not known."""
    if celsius is None:
        return volts
    return volts - REST_MV_PER_C_PER_12V / 1000 * (celsius - 25) * nominal / 12


def capacity_share(celsius: float, chemistry: str = "lead-acid") -> float:
    """Share of the rated capacity that a slow load gets at that temperature: the prudent published figure."""
    if chemistry == "lifepo4":
        return min(1.0, max(0.5, 1 - 0.008 * max(0.0, 25 - celsius)))
    return min(1.0, max(0.3, 0.711009126 + 0.0138667895 * celsius - 0.0000933332591 * celsius**2))


def self_discharge_share_day(celsius: float) -> float:
    """Share of its charge that it loses by itself in a day."""
    return 0.05 / 30 * 2 ** ((celsius - 25) / 10)


def _between(points: tuple[tuple[float, float], ...], value: float) -> float:
    if value <= points[0][0]:
        return points[0][1]
    for (x_a, y_a), (x_b, y_b) in pairwise(points):
        if value <= x_b:
            return y_a + (y_b - y_a) * (value - x_a) / (x_b - x_a)
    return points[-1][1]
