"""Battery, panel, load and latitude → the outlook month by month, each figure with its inputs and source.

Careful in winter: where the beam ratio is high (a steep panel under a low sun) the isotropic method overstates what SAP 2012 gives for
the same level figures, by up to three quarters in the 48 published months compared. The charge is worked out with the sun divided by
1 + 0.11 · (Rb − 1): in each of those months from October to March that is no more than SAP's.
"""

from dataclasses import dataclass
from typing import Any

from gateway.facts import Figure
from gateway.power.battery_capacity import usable, use
from gateway.power.sun import (
    MEAN_DAYS,
    Position,
    Tilted,
    clearness_by_latitude,
    extraterrestrial_kwh,
    on_panel,
    sky_share,
)
from gateway.settings.controller_tables import Panel, Power

COULOMBIC = {"lifepo4": 0.95}
COULOMBIC_LEAD = 0.85
"""Charge that comes back of charge put in: lead-acid (B15); lifepo4 (common practice)."""
DERATING = 0.9
"""Dirt, heat, age (common practice)."""
PANEL_VOLTS_PER_12V = 17.5
"""A plain charge controller passes the panel's current on: watts over its own working voltage (common practice)."""
DULL_DAYS = 14.0
"""Critical loads are planned for 7 to 14 days without sun (IEEE 1562 and 1013, from memory): the longer."""
CAREFUL_PER_RATIO = 0.11
CLEAREST = 0.8
"""No month's level surface gets more of what falls outside the air (the end of Erbs' range): a higher figure is a mistake."""
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
    """The twelve months and the worst of them. `sun_unknown`: why nothing can be said of the sun, or None where it can."""

    id: str
    usable: Figure
    worst_month: int
    months: tuple[MonthOutlook, ...]
    sun_unknown: str | None = None
    panel: bool = True

    @property
    def worst(self) -> MonthOutlook:
        """The worst month."""
        return self.months[self.worst_month - 1]

    @property
    def carries(self) -> bool:
        """Whether the worst month's sun covers what is used, and the battery two dull weeks as well."""
        return not self.short_months() and self.worst.days_without_sun.value >= DULL_DAYS

    def short_months(self) -> tuple[int, ...]:
        """Months whose sun does not cover what is used."""
        return tuple(outlook.month for outlook in self.months if outlook.charge.value < outlook.use.value)

    def as_json(self) -> dict[str, Any]:
        """The contract's `power --json` of one controller."""
        return {
            "id": self.id,
            "usable": self.usable.as_json(),
            "worst_month": self.worst_month,
            "months": [
                {
                    "month": outlook.month,
                    "sun": outlook.sun.as_json(),
                    "charge": outlook.charge.as_json(),
                    "use": outlook.use.as_json(),
                    "days_without_sun": outlook.days_without_sun.as_json(),
                }
                for outlook in self.months
            ],
        }


def power_outlook(controller: str, power: Power, latitude: float | None) -> PowerOutlook:
    """The outlook. Where the sun cannot be known (`sun_unknown`) it counts as none, and the battery's days still hold."""
    months = tuple(month_outlook(power, latitude, month) for month in MONTHS)
    unknown = None
    if power.panel is not None and latitude is None and not power.monthly_kwh_m2_day:
        unknown = "neither site.latitude nor monthly_kwh_m2_day is configured"
    if power.panel is None or unknown:
        worst = min(months, key=lambda outlook: outlook.days_without_sun.value)
    else:
        worst = min(
            months, key=lambda outlook: (outlook.charge.value - outlook.use.value, outlook.days_without_sun.value)
        )
    return PowerOutlook(
        id=controller,
        usable=usable(power, latitude, worst.month),
        worst_month=worst.month,
        months=months,
        sun_unknown=unknown,
        panel=power.panel is not None,
    )


def bearing_deg(facing_deg: float, latitude: float) -> float:
    """`facing_deg` as a compass bearing; 0, the default, means towards the equator in either hemisphere, 360 is due north."""
    if facing_deg == 0:
        return 180.0 if latitude >= 0 else 0.0
    return facing_deg % 360


def month_outlook(power: Power, latitude: float | None, month: int) -> MonthOutlook:
    """One month's sun, charge, use and days without sun."""
    tilted, sun = _sun(power, latitude, month)
    holds, used = usable(power, latitude, month), use(power, latitude, month)
    return MonthOutlook(
        month=month,
        sun=sun,
        charge=_charge(power, tilted),
        use=used,
        days_without_sun=Figure(
            value=round(holds.value / used.value, 2),
            unit="days",
            inputs={"usable_ah": holds.value, "use_ah_day": used.value},
            source="usable charge / use a day",
        ),
    )


def _sun(power: Power, latitude: float | None, month: int) -> tuple[Tilted, Figure]:
    given = power.monthly_kwh_m2_day[month - 1] if power.monthly_kwh_m2_day else None
    if power.panel is None:
        return _no_sun("no panel is configured")
    if latitude is not None:
        return _sun_at(power.panel, given, latitude, month)
    if given is None:
        return _no_sun("unknown: neither site.latitude nor monthly_kwh_m2_day is configured")
    on_panel_kwh = given * sky_share(power.panel.tilt_deg, power.panel.horizon_deg)
    return Tilted(kwh_m2_day=on_panel_kwh, beam_ratio=1.0), Figure(
        value=round(on_panel_kwh, 4),
        unit="kWh/m2/day",
        inputs={"level_kwh_m2_day": given, "tilt_deg": power.panel.tilt_deg, "horizon_deg": power.panel.horizon_deg},
        source="no site.latitude: the configuration's figure, as if the sky were always overcast",
    )


def _no_sun(why: str) -> tuple[Tilted, Figure]:
    return Tilted(kwh_m2_day=0.0, beam_ratio=0.0), Figure(value=0.0, unit="kWh/m2/day", inputs={}, source=why)


def _sun_at(panel: Panel, given: float | None, latitude: float, month: int) -> tuple[Tilted, Figure]:
    outside = extraterrestrial_kwh(latitude, MEAN_DAYS[month - 1])
    level, how = (
        outside * clearness_by_latitude(latitude, month),
        "estimated from the latitude; a published table is better",
    )
    if given is not None:
        level, how = min(given, CLEAREST * outside), "the configuration's monthly figure"
        if level < given:
            how += f", {given:g}, cut to the most that can be"
    position = Position(
        latitude_deg=latitude,
        tilt_deg=panel.tilt_deg,
        bearing_deg=bearing_deg(panel.facing_deg, latitude),
        horizon_deg=panel.horizon_deg,
    )
    tilted = on_panel(level, position, MEAN_DAYS[month - 1])
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
    careful = 1 + CAREFUL_PER_RATIO * max(0.0, tilted.beam_ratio - 1)
    coulombic = COULOMBIC.get(power.battery.chemistry, COULOMBIC_LEAD)
    return Figure(
        value=round(watts / volts * tilted.kwh_m2_day / careful * coulombic * DERATING, 4),
        unit="Ah/day",
        inputs={
            "panel_w": watts,
            "panel_volts": round(volts, 2),
            "sun_kwh_m2_day": round(tilted.kwh_m2_day, 4),
            "careful_divisor": round(careful, 3),
            "coulombic": coulombic,
            "derating": DERATING,
        },
        source="panel current x full-sun hours x charge losses; the sun on the careful side under a low sun (SAP 2012 against isotropic)",
    )
