"""A lead battery's rest voltage or charge → the row of the published tables by which its electrolyte freezes, on the safe side.

No figure is drawn between two rows: what lies between counts as the weaker one, for a battery that is told to be safe at -12 C and freezes at
-7 C is split. Specific gravity and rest voltage: V = 6 · (SG + 0.84) for 12 V (B2). A LiFePO4 battery does not freeze, but must not be
charged below 0 C.
"""

from dataclasses import dataclass
from itertools import takewhile

NO_CHARGE_BELOW_C = 0.0
"""LiFePO4 (APL48-50LFP operation manual, table 4.3: no charge below 0 C)."""
MV = 0.001


@dataclass(frozen=True, slots=True, kw_only=True)
class FreezingRow:
    """One row: the electrolyte of that specific gravity freezes at so many degrees Celsius."""

    gravity: float
    celsius: float
    source: str

    @property
    def rest_v_12(self) -> float:
        """Rest voltage of a 12 V battery."""
        return 6 * (self.gravity + 0.84)


MANUAL, BOOKLET, OWNERS = "US Army TM 5-1185", "a battery maker's booklet", "a vehicle owner's manual"
ROWS = tuple(
    FreezingRow(gravity=gravity, celsius=celsius, source=source)
    for gravity, celsius, source in (
        (1.05, -2.8, OWNERS),
        (1.10, -7.0, BOOKLET),
        (1.13, -12.0, BOOKLET),
        (1.15, -15.0, MANUAL),
        (1.16, -17.0, BOOKLET),
        (1.19, -24.0, BOOKLET),
        (1.20, -26.7, MANUAL),
        (1.22, -36.0, BOOKLET),
        (1.25, -52.0, BOOKLET),
        (1.265, -59.4, OWNERS),
        (1.28, -67.8, MANUAL),
    )
)
"""Where two name a gravity the warmer one."""
GRAVITY_BY_CHARGE = ((0.0, 1.05), (10.0, 1.16), (25.0, 1.19), (50.0, 1.22), (75.0, 1.25), (100.0, 1.28))
"""Percent of charge → gravity (the booklet: 1.16 is "weak"); one that shows 0 may be flatter than flat."""


def freezing_row(volts: float, nominal: float) -> FreezingRow:
    """The row of a rest voltage."""
    weaker = list(takewhile(lambda row: row.rest_v_12 <= volts * 12 / nominal + MV, ROWS))
    return weaker[-1] if weaker else ROWS[0]


def freezing_row_at(percent: float) -> FreezingRow:
    """The row of a charge."""
    gravity = [gravity for least, gravity in GRAVITY_BY_CHARGE if least <= percent][-1:] or [ROWS[0].gravity]
    return next(row for row in ROWS if row.gravity == gravity[0])
