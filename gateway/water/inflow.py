"""The source → litres a minute that reach the tank, and what a ram wastes.

A ram delivers q = Q · H · η / h (D'Aubuisson, R1): Q drive flow, H fall, h lift from the ram to where the water enters the tank. η by
default from the published table of efficiency by lift ratio (Building Trades Pocketbook, R2), linear between its points.
"""

from itertools import pairwise

from gateway.facts import Figure
from gateway.settings.water_tables import Pump, RamPump

EFFICIENCY_BY_RATIO: tuple[tuple[float, float], ...] = (
    (4, 0.72),
    (6, 0.61),
    (8, 0.52),
    (10, 0.44),
    (12, 0.37),
    (14, 0.31),
    (16, 0.25),
    (18, 0.19),
    (20, 0.14),
    (22, 0.09),
    (24, 0.04),
    (26, 0.0),
)
MINUTES_A_DAY = 1440
FORMULA = "q = Q*H*eta/h (D'Aubuisson)"
TABLE = "eta by lift ratio: Building Trades Pocketbook, The Hydraulic Ram"


def efficiency_by_ratio(ratio: float) -> float:
    """η for a lift ratio h/H, 0..1; the table's ends beyond it."""
    if ratio <= EFFICIENCY_BY_RATIO[0][0]:
        return EFFICIENCY_BY_RATIO[0][1]
    for (ratio_a, eta_a), (ratio_b, eta_b) in pairwise(EFFICIENCY_BY_RATIO):
        if ratio <= ratio_b:
            return eta_a + (eta_b - eta_a) * (ratio - ratio_a) / (ratio_b - ratio_a)
    return 0.0


def efficiency_of(pump: RamPump) -> float:
    """The configuration's own η, else the table's."""
    return pump.efficiency if pump.efficiency is not None else efficiency_by_ratio(pump.lift_m / pump.fall_m)


def delivered_l_min(pump: Pump) -> float:
    """What reaches the tank, litres a minute."""
    if isinstance(pump, RamPump):
        return pump.drive_flow_l_min * pump.fall_m * efficiency_of(pump) / pump.lift_m
    return pump.flow_l_min


def inflow_figure(pump: Pump | None) -> Figure | None:
    """The same with its inputs; None where no pump is configured."""
    if pump is None:
        return None
    if not isinstance(pump, RamPump):
        return Figure(
            value=pump.flow_l_min, unit="l/min", inputs={"flow_l_min": pump.flow_l_min}, source="the configuration"
        )
    return Figure(
        value=round(delivered_l_min(pump), 4),
        unit="l/min",
        inputs={
            "drive_flow_l_min": pump.drive_flow_l_min,
            "fall_m": pump.fall_m,
            "lift_m": pump.lift_m,
            "efficiency": round(efficiency_of(pump), 4),
        },
        source=FORMULA if pump.efficiency is not None else f"{FORMULA}; {TABLE}",
    )


def wasted_figure(pump: RamPump) -> Figure:
    """What the ram lets run back to the stream: Q − q."""
    delivered = delivered_l_min(pump)
    return Figure(
        value=round(pump.drive_flow_l_min - delivered, 4),
        unit="l/min",
        inputs={"drive_flow_l_min": pump.drive_flow_l_min, "delivered_l_min": round(delivered, 4)},
        source="drive flow less what is delivered",
    )
