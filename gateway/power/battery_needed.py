"""Load, place and panel's position → the battery and the panel that would last fourteen dull days, and how a battery ages.

The battery is sized for its last year, not its first: it is to be replaced at 80 % of its rated capacity (IEEE 450 and 1188, from memory).
Days without sun by IEEE 1562 and 1013, and by how much the worst month's sun should exceed the use by IEEE 1562: all from memory, for the
standards were not at hand.
"""

from dataclasses import dataclass

from gateway.facts import Figure
from gateway.power.battery_capacity import celsius_of, load_ah_day
from gateway.power.battery_charge import capacity_share, depth_limit, self_discharge_share_day
from gateway.power.monthly_outlook import DULL_DAYS, MONTHS, PowerOutlook
from gateway.settings.controller_tables import Power

WORN_SHARE = 0.8
"""Of its rated capacity: then it is to be replaced (IEEE 450 / 1188, from memory)."""
CRITICAL_DAYS = (7, 14)
USUAL_DAYS = (5, 7)
"""Days without sun that are planned for what is critical, and for what is not (IEEE 1562 and 1013, from memory)."""
SUN_OVER_USE = 1.4
"""Charge over use in the worst month: 1.3 to 1.4 for what is critical (IEEE 1562, from memory)."""
LIFE_HALVES_C = 8.0
LIFE_RATED_C = 25.0
"""A sealed lead battery's life halves for each 8 C over 25 C: ten years, five at 33 C (Battery University BU-806a)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Needed:
    """Ah at the rated capacity, and W of a panel that stands as the configured one does; None: no sun is known there, or a month has none."""

    battery: Figure
    panel: Figure | None


def needed(power: Power, latitude: float | None, outlook: PowerOutlook) -> Needed:
    """What the coldest month asks of the battery, and the month that is shortest of sun of the panel."""
    by_month = [(_needed_ah(power, latitude, month), month) for month in MONTHS]
    ah, coldest = max(by_month)
    celsius = celsius_of(power, latitude, coldest)
    battery = Figure(
        value=round(ah, 2),
        unit="Ah",
        inputs={
            "days": DULL_DAYS,
            "load_ah_day": round(load_ah_day(power), 4),
            "depth_limit": depth_limit(power.battery.chemistry),
            "temperature_share": round(capacity_share(celsius, power.battery.chemistry), 4),
            "worn_share": WORN_SHARE,
            "month": coldest,
        },
        source="(load + its self-discharge) x days / (depth limit x share in that month's cold x what a worn one has left)",
    )
    return Needed(battery=battery, panel=_panel(power, latitude, outlook, ah))


def years_of_ten(power: Power) -> float | None:
    """Of ten years that its maker gives it at 25 C, so many in the configured warmth, never more than ten; None where neither its warmth is
    known nor how its kind ages.
    """
    if not power.monthly_celsius or power.battery.chemistry == "lifepo4":
        return None
    faster = [2 ** ((celsius - LIFE_RATED_C) / LIFE_HALVES_C) for celsius in power.monthly_celsius]
    return 10 / max(1.0, sum(faster) / len(faster))


def _needed_ah(power: Power, latitude: float | None, month: int) -> float:
    """The battery's own loss grows with its size, so that both stand in one equation."""
    celsius = celsius_of(power, latitude, month)
    share = capacity_share(celsius, power.battery.chemistry) * depth_limit(power.battery.chemistry) * WORN_SHARE
    return load_ah_day(power) * DULL_DAYS / (share - DULL_DAYS * self_discharge_share_day(celsius))


def _panel(power: Power, latitude: float | None, outlook: PowerOutlook, ah: float) -> Figure | None:
    if power.panel is None or outlook.sun_unknown or any(month.charge.value <= 0 for month in outlook.months):
        return None
    use_by_month = {
        month: load_ah_day(power) + ah * self_discharge_share_day(celsius_of(power, latitude, month))
        for month in MONTHS
    }
    worst = max(outlook.months, key=lambda month: use_by_month[month.month] / month.charge.value)
    use, charge = use_by_month[worst.month], worst.charge.value
    return Figure(
        value=round(power.panel.watts * SUN_OVER_USE * use / charge, 2),
        unit="W",
        inputs={
            "panel_w": power.panel.watts,
            "charge_ah_day": charge,
            "use_ah_day": round(use, 4),
            "sun_over_use": SUN_OVER_USE,
            "month": worst.month,
        },
        source="panel x use with that battery / charge of its worst month x what IEEE 1562 adds (from memory)",
    )
