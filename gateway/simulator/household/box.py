"""The controller in the field: floats → texts in its own dialect, a sign of life a day, a battery, and what it does when asked.

Battery: charge in by the day's sun on the panel, out by standby and texts; dead when empty, alive again at a fifth. The sun outside the
air and on a slope towards the equator: Duffie and Beckman, eq. 1.10.3 and 2.19.3a (beam); a panel passes its current on (common practice).
"""

import math
import random
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from gateway.settings.controller_tables import Controller, Panel, Power
from gateway.simulator.household.dialect import Dialect
from gateway.simulator.household.weather import Weather

SOLAR_CONSTANT_KW_M2 = 1.367
PANEL_VOLTS = 17.5
DERATING = 0.85
CHARGE_COMES_BACK = 0.85
DEAD_BELOW, ALIVE_ABOVE = 0.03, 0.20
EMPTY_VOLTS, FULL_VOLTS = 11.6, 12.8
"""Of a 12 V lead-acid battery at rest (common practice)."""
SIGN_OF_LIFE_HOUR = 11
AT_LEAST_EVERY = timedelta(hours=24)


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxText:
    """A text that leaves the box."""

    at: datetime
    number: str
    text: str


class FieldBox:
    """One controller. `died_at`: since when it says nothing (None: it lives); `lowest`: its battery's lowest charge, 0 to 1."""

    def __init__(self, controller: Controller, latitude: float | None, zone: tzinfo, seed: int) -> None:
        self.controller = controller
        self._rng = random.Random(f"{seed} box {controller.id}")
        self._dialect = Dialect(controller, self._rng)
        self._latitude, self._zone = latitude if latitude is not None else 35.0, zone
        self.charge = 1.0
        self.lowest = 1.0
        self.sun_ah: list[float] = []
        self.died_at: datetime | None = None
        self.broken = False
        self.unspoken: set[str] = set()
        limit = controller.silence_after
        rhythm = limit * 0.8 if isinstance(limit, timedelta) else AT_LEAST_EVERY
        self.says_hello_every = min(rhythm, AT_LEAST_EVERY)

    @property
    def alive(self) -> bool:
        """Whether it can text."""
        return self.died_at is None

    def first_sign_of_life(self, start: datetime) -> datetime:
        """When its first one leaves: just before noon, give or take."""
        local = start.astimezone(self._zone)
        at = local.replace(hour=SIGN_OF_LIFE_HOUR, minute=self._rng.randrange(0, 30), second=0, microsecond=0)
        while at <= local:
            at += self.says_hello_every
        return at.astimezone(start.tzinfo)

    def sign_of_life(self, at: datetime) -> BoxText | None:
        """What it says of itself; None: nothing, or it has no words for it."""
        text = self._dialect.sign_of_life(self.volts, at.astimezone(self._zone))
        return self._leaves(text, at)

    def switched(self, input: int | str, *, active: bool, at: datetime) -> BoxText | None:
        """What it says of a float that switched."""
        text = self._dialect.switched(input, active=active, at=at.astimezone(self._zone))
        if text is None:
            self.unspoken.add(f"{self.controller.name}: input {input} {'active' if active else 'idle'}")
        return self._leaves(text, at)

    def reads_level(self, input: int | str, reading: float, at: datetime) -> BoxText | None:
        """What it says of a gauge; None: nothing, or no rule could read it."""
        return self._leaves(self._dialect.level(input, reading, at.astimezone(self._zone)), at)

    def asked(self, text: str, at: datetime) -> BoxText | None:
        """Its answer to a text of the gateway, half a minute to two minutes later."""
        if text.strip() != self.controller.ask.text.strip():
            return None
        return self.sign_of_life(at + timedelta(seconds=self._rng.uniform(30, 120)))

    @property
    def volts(self) -> float:
        """At its terminals."""
        nominal = self.controller.power.battery.volts if self.controller.power else 12.0
        loaded = EMPTY_VOLTS + (FULL_VOLTS - EMPTY_VOLTS) * self.charge
        return round((loaded + self._rng.gauss(0, 0.05)) * nominal / 12, 1)

    def day_passes(self, at: datetime, weather: Weather) -> None:
        """A day's sun and use; it may die of it, or come back."""
        power = self.controller.power
        if power is not None:
            sun = sun_ah(power.panel, self._latitude, at, weather.clearness) if power.panel else 0.0
            self.sun_ah.append(sun)
            used = used_ah_a_day(power)
            net = sun * CHARGE_COMES_BACK - used
            self.charge = min(1.0, max(0.0, self.charge + net / power.battery.capacity_ah))
            self.lowest = min(self.lowest, self.charge)
        if self.charge <= DEAD_BELOW and self.died_at is None:
            self.died_at = at
        elif self.charge >= ALIVE_ABOVE and not self.broken:
            self.died_at = None

    def breaks(self, at: datetime) -> None:
        """It says nothing any more until somebody comes."""
        self.broken, self.died_at = True, self.died_at or at

    def mended(self) -> None:
        """Somebody was there: it works, with a charged battery."""
        self.broken, self.died_at, self.charge = False, None, max(self.charge, 0.9)

    def _leaves(self, text: str | None, at: datetime) -> BoxText | None:
        if text is None or not self.alive or not self.controller.number:
            return None
        return BoxText(at=at, number=self.controller.number[0], text=text)


def used_ah_a_day(power: Power) -> float:
    """What standby and texts take; a text sends for about a minute (0.02 h)."""
    return power.load.standby_ma / 1000 * 24 + power.load.texts_per_day * power.load.text_ma / 1000 * 0.02


def lowest_charge(sun: list[float], box: FieldBox, panels: float) -> float:
    """The lowest charge that the same days would have left with so many times the panel."""
    power = box.controller.power
    assert power is not None
    used = used_ah_a_day(power)
    charge = lowest = 1.0
    for ah in sun:
        charge = min(1.0, max(0.0, charge + (ah * panels * CHARGE_COMES_BACK - used) / power.battery.capacity_ah))
        lowest = min(lowest, charge)
    return lowest


def sun_ah(panel: Panel, latitude: float, at: datetime, clearness: float) -> float:
    """Ah that a day's sun puts out of the panel."""
    kwh = level_sun_kwh(latitude, at) * clearness
    beam_share = max(0.1, min(0.9, clearness))
    kwh *= beam_share * slope_ratio(latitude, at, panel.tilt_deg) + (1 - beam_share)
    return kwh * panel.watts / PANEL_VOLTS * DERATING * max(0.0, 1 - panel.horizon_deg / 60)


def level_sun_kwh(latitude: float, at: datetime) -> float:
    """kWh/m² a day outside the air on the level (Duffie and Beckman 1.10.3)."""
    phi, delta, sunset = _angles(latitude, at)
    nearness = 1 + 0.033 * math.cos(2 * math.pi * at.timetuple().tm_yday / 365)
    daily = math.cos(phi) * math.cos(delta) * math.sin(sunset) + sunset * math.sin(phi) * math.sin(delta)
    return 24 / math.pi * SOLAR_CONSTANT_KW_M2 * nearness * max(daily, 0.0)


def slope_ratio(latitude: float, at: datetime, tilt_deg: float) -> float:
    """Beam on a slope towards the equator over beam on the level, a day's mean (Duffie and Beckman 2.19.3a), at most 4."""
    phi, delta, sunset = _angles(latitude, at)
    leaning = phi - math.copysign(math.radians(tilt_deg), latitude)
    seen = min(sunset, math.acos(min(1.0, max(-1.0, -math.tan(leaning) * math.tan(delta)))))
    level = math.cos(phi) * math.cos(delta) * math.sin(sunset) + sunset * math.sin(phi) * math.sin(delta)
    slope = math.cos(leaning) * math.cos(delta) * math.sin(seen) + seen * math.sin(leaning) * math.sin(delta)
    return min(4.0, max(0.0, slope / level)) if level > 0.02 else 1.0


def _angles(latitude: float, at: datetime) -> tuple[float, float, float]:
    """Latitude, declination (Cooper 1969) and the sunset's hour angle, radians."""
    phi = math.radians(latitude)
    delta = math.radians(23.45) * math.sin(2 * math.pi * (284 + at.timetuple().tm_yday) / 365)
    sunset = math.acos(min(1.0, max(-1.0, -math.tan(phi) * math.tan(delta))))
    return phi, delta, sunset
