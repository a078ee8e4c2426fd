"""A battery's charge now and the month's net charge → the days until it is half empty or flat.

Careful: it counts as worn, and the sun of a usual day of the month as the outlook has it. A month whose sun covers what is used has no such day.
"""

import math
from dataclasses import dataclass

from gateway.facts import Figure
from gateway.power.battery_capacity import celsius_of
from gateway.power.battery_charge import capacity_share
from gateway.power.battery_needed import WORN_SHARE
from gateway.power.monthly_outlook import month_outlook
from gateway.settings.controller_tables import Power

HALF_PERCENT, FLAT_PERCENT = 50.0, 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Spent:
    """Days until its charge has fallen to `down_to` percent, by the Ah a day that come in and go out; None: as much comes in as goes out."""

    days: Figure | None
    down_to: float
    charge_ah_day: float
    use_ah_day: float

    @property
    def whole_days(self) -> int | None:
        """Rounded down: late is worse than early."""
        return None if self.days is None else math.floor(self.days.value)


def spent_in(power: Power, latitude: float | None, month: int, percent: float, *, down_to: float) -> Spent:
    """Where the sun of a panel is unknown it counts as none."""
    outlook = month_outlook(power, latitude, month)
    charge, used = outlook.charge.value, outlook.use.value
    share = capacity_share(celsius_of(power, latitude, month), power.battery.chemistry) * WORN_SHARE
    left = power.battery.capacity_ah * share * max(0.0, percent - down_to) / 100
    days = None
    if used > charge:
        days = Figure(
            value=round(left / (used - charge), 2),
            unit="days",
            inputs={
                "percent": round(percent, 1),
                "down_to_percent": down_to,
                "capacity_ah": power.battery.capacity_ah,
                "share": round(share, 4),
                "use_ah_day": used,
                "charge_ah_day": charge,
                "month": month,
            },
            source=f"charge by volts x capacity in the month's cold x {WORN_SHARE:g} (worn) / (use - charge of a usual day of the month)",
        )
    return Spent(days=days, down_to=down_to, charge_ah_day=charge, use_ah_day=used)
