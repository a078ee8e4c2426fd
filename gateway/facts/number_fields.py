"""Every number that a rule can read in a text, declared once: how it is written there, stored, shown and guessed.

A number is kept in an event's `detail` under its field's name, and in JSON it has that name too.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

NumberName = Literal["volts", "percent", "celsius", "level", "signal"]


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberField:
    """All that is known of one number. In a rule it stands as `{name}`, in a regex as the group of that name.

    `unit` stands behind it where it is shown, `label` above or before it. `expected`: what `explain` says was expected where none stands.
    `written`: another way to write it than digits with a point or comma, as a regular expression over folded text. `overview`: it
    stands among what is told of each controller; `of_gauge`: it is a gauge's, and no controller has one alone. `band`: by so much it must
    come back before it is no longer beyond a limit of its own (EEMUA 191 and ISA-18.2 start from 1 % of a temperature's span). For
    `suggest`: the `units` that stand behind it, the `names` before it (`letters`: only where a colon or an equals sign follows), and
    `limits` beyond which a number is something else.
    """

    name: NumberName
    unit: str
    label: str
    expected: str
    written: str = ""
    overview: bool = False
    of_gauge: bool = False
    band: float = 0.0
    units: tuple[str, ...]
    names: tuple[str, ...]
    letters: tuple[str, ...] = ()
    limits: tuple[float, float] = (-math.inf, math.inf)

    def shown(self, value: float) -> str:
        """`12.6 V`, for where the label stands already."""
        return f"{value:g} {self.unit}".rstrip()

    def told(self, value: float) -> str:
        """`12.6 V`, or `17 (signal)` where no unit tells what it is."""
        return self.shown(value) if self.unit else f"{value:g} ({self.label})"


_ENTRIES = (
    NumberField(
        name="volts",
        unit="V",
        label="volts",
        expected="a number of volts",
        written=r"\d+v\d{1,2}",  # a point written as the unit: "12V6" (as IEC 60062 writes resistors)
        overview=True,
        units=("v", "volt", "volts", "vdc"),
        names=("batt", "bat", "battery", "vbat", "vbatt", "volt", "volts", "voltage", "supply", "vcc", "vin", "vdc"),
        letters=("v", "u"),
        limits=(-60.0, 60.0),  # more is no battery of a box: "NO 230 V" tells of the mains
        band=0.2,
    ),
    NumberField(
        name="percent",
        unit="%",
        label="percent",
        expected="a number of percent",
        units=("%", "pct", "percent"),
        names=(),
        band=2.0,
    ),
    NumberField(
        name="celsius",
        unit="°C",
        label="degrees",
        expected="a number of degrees",
        units=("c", "degc", "celsius", "°c", "deg", "deg c", "degrees"),
        names=("temp", "temperature"),
        letters=("t",),
        band=1.0,
    ),
    NumberField(
        name="level",
        unit="",
        label="level",
        expected="a number for the level",
        of_gauge=True,
        units=("cm", "mm", "litre", "litres", "liter", "liters"),  # "m" and "l" are as often a state or a name
        names=("level", "lvl", "depth"),
    ),
    NumberField(
        name="signal",
        unit="",
        label="signal",
        expected="a number for the signal",
        overview=True,
        units=("dbm",),
        names=("csq", "rssi", "signal", "sig"),
        band=2.0,
    ),
)
NUMBER_FIELDS: Mapping[str, NumberField] = MappingProxyType({entry.name: entry for entry in _ENTRIES})
"""Name → entry, in the order in which several are told."""

OTHER_UNITS = frozenset({"mv", "ma", "ah", "kpa", "psi", "bar"})
"""Units that stand behind numbers which no field keeps: such a number is a measurement all the same."""


def numbers_in(detail: Mapping[str, object]) -> dict[NumberName, float]:
    """The numbers among what an event carries."""
    told = ((entry.name, detail.get(entry.name)) for entry in NUMBER_FIELDS.values())
    return {name: float(value) for name, value in told if isinstance(value, int | float)}
