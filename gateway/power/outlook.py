"""Battery, panel, load and latitude → the outlook month by month, each figure with its inputs and source.

Careful in winter: where the beam ratio is high (a steep panel under a low sun) the isotropic method was seen to overstate what SAP 2012
gives by up to half; the charge is worked out with the lower figure (divided by 1 + 0.07 · (Rb − 1), fitted to that comparison).
"""

import math
from dataclasses import dataclass
from typing import Any

from gateway.facts import Figure
from gateway.power.charge import DEPTH_LIMIT, capacity_share, self_discharge_share_day
from gateway.power.sun import MEAN_DAYS, Position, Tilted, clearness_by_latitude, extraterrestrial_kwh, on_panel
from gateway.settings.models import Power

COULOMBIC = 0.85
"""Charge that comes back of charge put in, lead-acid (B15)."""
DERATING = 0.9
"""Dirt, heat, age (common practice)."""
PANEL_VOLTS_PER_12V = 17.5
"""A plain charge controller passes the panel's current on: watts over its own working voltage (common practice)."""
TEXT_S = 60.0
"""How long a text keeps the radio at its full current (common practice)."""
DULL_DAYS = 14.0
"""Critical loads at high latitude are planned for 7 to 14 days without sun (IEEE 1013, from memory)."""
MONTHS = range(1, 13)


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthOutlook:
    """One month: sun on the panel, Ah a day in and out, days it lasts without any sun."""

    month: int
    sun: Figure
    charge: Figure
    use: Figure
    days_without_sun: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerOutlook:
    """The twelve months, the worst of them, and what they come to in a sentence."""

    id: str
    usable: Figure
    worst_month: int
    months: tuple[MonthOutlook, ...]

    @property
    def worst(self) -> MonthOutlook:
        """The worst month."""
        return self.months[self.worst_month - 1]

    @property
    def carries(self) -> bool:
        """Whether the worst month's sun covers what is used, and two dull weeks as well."""
        worst = self.worst
        return worst.charge.value >= worst.use.value and worst.days_without_sun.value >= DULL_DAYS

    def short_months(self) -> tuple[int, ...]:
        """Months whose sun does not cover what is used."""
        return tuple(one.month for one in self.months if one.charge.value < one.use.value)

    def as_json(self) -> dict[str, Any]:
        """The contract's `power --json` of one controller."""
        return {
            "id": self.id,
            "usable": self.usable.as_json(),
            "worst_month": self.worst_month,
            "months": [
                {
                    "month": one.month,
                    "sun": one.sun.as_json(),
                    "charge": one.charge.as_json(),
                    "use": one.use.as_json(),
                    "days_without_sun": one.days_without_sun.as_json(),
                }
                for one in self.months
            ],
        }


def power_outlook(controller: str, power: Power, latitude: float | None) -> PowerOutlook:
    """The outlook; without latitude and without figures the sun counts as none."""
    months = tuple(_month(power, latitude, month) for month in MONTHS)
    worst = min(months, key=lambda one: (one.charge.value - one.use.value, one.days_without_sun.value))
    return PowerOutlook(
        id=controller, usable=_usable(power, latitude, worst.month), worst_month=worst.month, months=months
    )


def bearing_deg(facing_deg: float, latitude: float) -> float:
    """`facing_deg` as a compass bearing; 0, the default, means towards the equator in either hemisphere."""
    if facing_deg == 0:
        return 180.0 if latitude >= 0 else 0.0
    return facing_deg % 360


def _month(power: Power, latitude: float | None, month: int) -> MonthOutlook:
    tilted, sun = _sun(power, latitude, month)
    celsius = celsius_of(power, latitude, month)
    use = _use(power, celsius)
    usable = _usable(power, latitude, month)
    return MonthOutlook(
        month=month,
        sun=sun,
        charge=_charge(power, tilted),
        use=use,
        days_without_sun=Figure(
            value=round(usable.value / use.value, 2),
            unit="days",
            inputs={"usable_ah": usable.value, "use_ah_day": use.value},
            source="usable charge / use a day",
        ),
    )


def _sun(power: Power, latitude: float | None, month: int) -> tuple[Tilted, Figure]:
    day = MEAN_DAYS[month - 1]
    if power.panel is None or latitude is None:
        why = "no panel is configured" if power.panel is None else "no latitude is configured: the sun is unknown"
        return Tilted(kwh_m2_day=0.0, beam_ratio=0.0), Figure(value=0.0, unit="kWh/m2/day", inputs={}, source=why)
    given = bool(power.monthly_kwh_m2_day)
    outside = extraterrestrial_kwh(latitude, day)
    level = power.monthly_kwh_m2_day[month - 1] if given else outside * clearness_by_latitude(latitude, month)
    position = Position(
        latitude_deg=latitude,
        tilt_deg=power.panel.tilt_deg,
        bearing_deg=bearing_deg(power.panel.facing_deg, latitude),
        horizon_deg=power.panel.horizon_deg,
    )
    tilted = on_panel(level, position, day)
    how = "the configuration's monthly figure" if given else "estimated from the latitude; a published table is better"
    return tilted, Figure(
        value=round(tilted.kwh_m2_day, 4),
        unit="kWh/m2/day",
        inputs={
            "latitude": latitude,
            "level_kwh_m2_day": round(level, 4),
            "tilt_deg": position.tilt_deg,
            "bearing_deg": position.bearing_deg,
            "horizon_deg": position.horizon_deg,
        },
        source=f"level surface: {how}; onto the panel: monthly-mean-day isotropic method (Duffie & Beckman 2.19)",
    )


def _charge(power: Power, tilted: Tilted) -> Figure:
    watts = power.panel.watts if power.panel else 0.0
    volts = PANEL_VOLTS_PER_12V * power.battery.volts / 12
    careful = 1 + 0.07 * max(0.0, tilted.beam_ratio - 1)
    amp_hours = watts / volts * tilted.kwh_m2_day / careful * COULOMBIC * DERATING
    return Figure(
        value=round(amp_hours, 4),
        unit="Ah/day",
        inputs={
            "panel_w": watts,
            "panel_volts": round(volts, 2),
            "sun_kwh_m2_day": round(tilted.kwh_m2_day, 4),
            "careful_divisor": round(careful, 3),
            "coulombic": COULOMBIC,
            "derating": DERATING,
        },
        source="panel current x full-sun hours x charge losses; the sun on the careful side under a low sun (SAP 2012 against isotropic)",
    )


def _use(power: Power, celsius: float) -> Figure:
    load = power.load
    standby = load.standby_ma / 1000 * 24
    texts = load.text_ma / 1000 * load.texts_per_day * TEXT_S / 3600
    lost = power.battery.capacity_ah * self_discharge_share_day(celsius)
    return Figure(
        value=round(standby + texts + lost, 4),
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


def _usable(power: Power, latitude: float | None, month: int) -> Figure:
    celsius = celsius_of(power, latitude, month)
    share = capacity_share(celsius, power.battery.chemistry)
    depth = DEPTH_LIMIT.get(power.battery.chemistry, 0.5)
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
        source="rated capacity x share at the month's temperature (fit to IEEE 485) x depth limit",
    )


def celsius_of(power: Power, latitude: float | None, month: int) -> float:
    """The month's mean temperature: the configuration's, else a careful guess from the latitude."""
    if power.monthly_celsius:
        return power.monthly_celsius[month - 1]
    away = abs(latitude) if latitude is not None else 45.0
    midsummer = 7 if (latitude or 0) >= 0 else 1
    return 29 - 0.38 * away + 0.17 * away * math.cos(2 * math.pi * (month - midsummer) / 12)
