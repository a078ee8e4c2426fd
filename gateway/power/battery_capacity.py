"""Battery, load and temperature → what it can give, what is used a day, how long that lasts; each figure with its inputs and source.

Careful: the prudent published capacity in the cold, half of a lead battery's charge, and a guess of the temperature that is rather
too cold where the configuration gives none.
"""

import math

from gateway.facts import Figure
from gateway.power.battery_charge import capacity_share, depth_limit, self_discharge_share_day, state_of_charge
from gateway.settings.controller_tables import Power

TEXT_S = 60.0
"""How long a text keeps the radio at its full current (common practice)."""
UNKNOWN_LATITUDE_DEG = 45.0
COLDEST_MONTH = {True: 1, False: 7}
"""By hemisphere: north, south."""


def usable(power: Power, latitude: float | None, month: int) -> Figure:
    """Ah it gives in that month, from full down to the depth limit."""
    celsius = celsius_of(power, latitude, month)
    share = capacity_share(celsius, power.battery.chemistry)
    depth = depth_limit(power.battery.chemistry)
    given = "the configuration's" if power.monthly_celsius else "guessed from the latitude"
    return Figure(
        value=round(power.battery.capacity_ah * share * depth, 4),
        unit="Ah",
        inputs={
            "capacity_ah": power.battery.capacity_ah,
            "celsius": round(celsius, 1),
            "temperature_share": round(share, 4),
            "depth_limit": depth,
            "month": month,
        },
        source=f"rated capacity x share at the month's temperature ({given}; fit to IEEE 485) x depth limit",
    )


def use(power: Power, latitude: float | None, month: int) -> Figure:
    """Ah used a day: standby, texts and what the battery loses by itself."""
    load = power.load
    lost = power.battery.capacity_ah * self_discharge_share_day(celsius_of(power, latitude, month))
    return Figure(
        value=round(load_ah_day(power) + lost, 4),
        unit="Ah/day",
        inputs={
            "standby_ma": load.standby_ma,
            "text_ma": load.text_ma,
            "texts_per_day": load.texts_per_day,
            "text_s": TEXT_S,
            "self_discharge_ah_day": round(lost, 4),
        },
        source="standby + texts + self-discharge (5 % a month at 25 C, doubling every 10 C)",
    )


def load_ah_day(power: Power) -> float:
    """Ah a day for standby and texts."""
    load = power.load
    return load.standby_ma / 1000 * 24 + load.text_ma / 1000 * load.texts_per_day * TEXT_S / 3600


def lasts_from(
    power: Power, month: int, latitude: float | None, *, volts: float | None = None, celsius: float | None = None
) -> Figure:
    """Hours it carries the load from now with nothing coming in. `volts`: its last believable rest voltage; None: it was full."""
    whole = usable(power, latitude, month)
    percent = 100.0
    if volts is not None:
        percent = state_of_charge(volts, power.battery.volts, power.battery.chemistry, celsius)
    depth = depth_limit(power.battery.chemistry)
    left = whole.value * max(0.0, percent / 100 - (1 - depth)) / depth
    used = use(power, latitude, month)
    return Figure(
        value=round(left / used.value * 24, 1),
        unit="hours",
        inputs={
            "usable_ah": whole.value,
            "percent": round(percent),
            "left_ah": round(left, 4),
            "use_ah_day": used.value,
        },
        source="what is left above the depth limit / use a day; "
        + ("full, as nothing else is known" if volts is None else "by volts"),
    )


def celsius_of(power: Power, latitude: float | None, month: int) -> float:
    """The month's mean temperature: the configuration's, else a guess on the cold side; without a latitude the coldest month's."""
    if power.monthly_celsius:
        return power.monthly_celsius[month - 1]
    if latitude is None:
        latitude, month = UNKNOWN_LATITUDE_DEG, COLDEST_MONTH[True]
    away = abs(latitude)
    from_coldest = month - COLDEST_MONTH[latitude >= 0]
    return 29 - 0.38 * away - 0.17 * away * math.cos(2 * math.pi * from_coldest / 12)
