"""A battery's voltage → too high: once when it is, once when it is well below again.

Above what charging needs: absorption 14.1 to 14.8 V; a controller cuts off at 15.5 to 16.5 V; LiFePO4 is full at 14.6 V (controller manuals).
Equalising a flooded battery, or charging in deep cold, may reach 15 to 16 V: the message says so, for nobody can tell it from here.
"""

from collections.abc import Mapping

from gateway.power.low_battery import USUAL_V, believable
from gateway.settings.controller_tables import Power

HIGH_V_PER_12V: Mapping[str, float] = {"lead-acid": 15.5, "agm": 15.0, "gel": 15.0, "lifepo4": 14.8}
FALL_V_PER_12V = 0.5


def is_too_high(volts: float, power: Power | None, *, before: bool) -> bool:
    """`before`: whether it was too high already; then it is until it has fallen well below. What cannot be is not believed."""
    nominal = power.battery.volts if power else USUAL_V
    chemistry = power.battery.chemistry if power else "lead-acid"
    limit = HIGH_V_PER_12V.get(chemistry, HIGH_V_PER_12V["lead-acid"]) * nominal / 12
    if not believable(volts, nominal):
        return before
    return volts > limit - (FALL_V_PER_12V * nominal / 12 if before else 0.0)
