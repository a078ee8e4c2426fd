"""Latitude, month and a panel's position → sun on a level surface and on the panel, kWh/m² a day.

Monthly-mean-day isotropic method: extraterrestrial radiation (Duffie & Beckman, 4th ed., eq. 1.10.3), diffuse share (Erbs, eq. 2.12.1),
beam by the ratio Rb integrated over the day of the month's mean day (so that any direction and a horizon are possible; for a panel
towards the equator it equals eq. 2.19.3a), sky and ground seen isotropically (eq. 2.19.1). Both hemispheres. A horizon stands equally
high all around: it hides the low sun and the sky behind it, and reflects as the ground does. What it leaves of the beam is worked out for
each day of the month: where noon stands near a hill's edge, the mean day alone gives all of a month's sun or none of it.
"""

import math
from bisect import bisect_right
from dataclasses import dataclass, replace
from functools import lru_cache

MEAN_DAYS = (17, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344)
"""Average day of each month (Duffie & Beckman, table 1.6.1)."""

SOLAR_CONSTANT_W_M2 = 1367.0
MJ_PER_KWH = 3.6
ALBEDO = 0.2
MONTH_STARTS = (1, 32, 60, 91, 121, 152, 182, 213, 244, 274, 305, 335, 366)
"""First day of each month, and of the next year."""
SKY_STEPS = 90


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """How the panel stands: tilt from level, bearing of the way it faces (compass), horizon it must see over; degrees."""

    latitude_deg: float
    tilt_deg: float
    bearing_deg: float
    horizon_deg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Tilted:
    """Sun on the panel, and the ratio of beam on it to beam on the level."""

    kwh_m2_day: float
    beam_ratio: float


def declination_deg(day_of_year: int) -> float:
    """Cooper's equation (Duffie & Beckman, eq. 1.6.1a)."""
    return 23.45 * math.sin(math.radians(360 * (284 + day_of_year) / 365))


def sunset_angle_deg(latitude_deg: float, declination: float) -> float:
    """Hour angle of sunset, 0 (polar night) to 180 (midnight sun)."""
    return math.degrees(hour_angle_above(latitude_deg, declination, 0.0))


def extraterrestrial_kwh(latitude_deg: float, day_of_year: int) -> float:
    """H0: a day's radiation on a level surface outside the air, kWh/m²."""
    declination = math.radians(declination_deg(day_of_year))
    latitude = math.radians(latitude_deg)
    sunset = math.radians(sunset_angle_deg(latitude_deg, math.degrees(declination)))
    distance = 1 + 0.033 * math.cos(math.radians(360 * day_of_year / 365))
    geometry = math.cos(latitude) * math.cos(declination) * math.sin(sunset)
    geometry += sunset * math.sin(latitude) * math.sin(declination)
    return max(0.0, 24 / math.pi * SOLAR_CONSTANT_W_M2 * distance * geometry / 1000)


def diffuse_share(clearness: float, sunset_deg: float) -> float:
    """Hd/H from the monthly clearness index (Erbs et al. 1982; Duffie & Beckman, eq. 2.12.1).

    Below 0.3, where it was not fitted, it goes on rising, to 1 at most: held at 0.3 it promised a dull December twice its sun.
    """
    k = min(0.8, clearness)
    if sunset_deg <= 81.4:
        return min(1.0, 1.391 - 3.560 * k + 4.189 * k**2 - 2.137 * k**3)
    return min(1.0, 1.311 - 3.022 * k + 3.427 * k**2 - 1.821 * k**3)


def on_panel(level_kwh: float, position: Position, day_of_year: int, *, albedo: float = ALBEDO) -> Tilted:
    """What falls on the panel on the month's mean day, given what falls on the level."""
    outside = extraterrestrial_kwh(position.latitude_deg, day_of_year)
    declination = declination_deg(day_of_year)
    if outside <= 1e-6 or level_kwh <= 0:
        return Tilted(kwh_m2_day=0.0, beam_ratio=0.0)
    share = diffuse_share(level_kwh / outside, sunset_angle_deg(position.latitude_deg, declination))
    ratio = beam_ratio(replace(position, horizon_deg=0.0), declination) * share_above_horizon(position, day_of_year)
    sky = sky_share(position.tilt_deg, position.horizon_deg)
    total = level_kwh * ((1 - share) * ratio + share * sky + albedo * (1 - sky))
    return Tilted(kwh_m2_day=total, beam_ratio=ratio)


def beam_ratio(position: Position, declination: float) -> float:
    """Rb: the day's beam on the panel over that on the level, with what lies behind the horizon cut off."""
    level = beam_of_day(Position(latitude_deg=position.latitude_deg, tilt_deg=0, bearing_deg=0), declination)
    return beam_of_day(position, declination) / level if level > 0 else 0.0


@lru_cache(maxsize=256)
def share_above_horizon(position: Position, day_of_year: int) -> float:
    """Share of the panel's beam that the horizon leaves, over the days of the month in which that day lies."""
    if position.horizon_deg <= 0:
        return 1.0
    month = bisect_right(MONTH_STARTS, day_of_year)
    declinations = [declination_deg(day) for day in range(MONTH_STARTS[month - 1], MONTH_STARTS[month])]
    free = sum(beam_of_day(replace(position, horizon_deg=0.0), declination) for declination in declinations)
    return sum(beam_of_day(position, declination) for declination in declinations) / free if free > 0 else 0.0


def beam_of_day(position: Position, declination: float) -> float:
    """Integral over hour angles of the cosine at which the sun meets the panel, while it is above the horizon and before the panel.

    The cosine is A + R cos(ω - ψ): above 0 for so much on either side of ψ, its integral between two hour angles in closed form.
    """
    lit = hour_angle_above(position.latitude_deg, declination, position.horizon_deg)
    midnight, noon, six = (incidence_cosine(position, *_sun_at(position, declination, hour)) for hour in (180, 0, 90))
    constant, cosine = (noon + midnight) / 2, (noon - midnight) / 2
    sine = six - constant
    reach, middle = math.hypot(cosine, sine), math.atan2(sine, cosine)
    before = math.acos(min(1.0, max(-1.0, -constant / reach))) if reach > 0 else math.pi * (constant > 0)
    total = 0.0
    for turn in (-2 * math.pi, 0.0, 2 * math.pi):
        start, end = max(-lit, middle - before + turn), min(lit, middle + before + turn)
        if end > start:
            total += constant * (end - start) + cosine * (math.sin(end) - math.sin(start))
            total -= sine * (math.cos(end) - math.cos(start))
    return max(0.0, total)


def hour_angle_above(latitude_deg: float, declination: float, height_deg: float) -> float:
    """Hour angle, radians, up to which the sun stands higher than so many degrees: 0 (never) to π (always)."""
    latitude, declined = math.radians(latitude_deg), math.radians(declination)
    above = math.sin(math.radians(height_deg)) - math.sin(latitude) * math.sin(declined)
    across = max(1e-12, math.cos(latitude) * math.cos(declined))
    return math.acos(min(1.0, max(-1.0, above / across)))


def _sun_at(position: Position, declination: float, hour_deg: float) -> tuple[float, float, float]:
    return towards_sun(math.radians(position.latitude_deg), math.radians(declination), math.radians(hour_deg))


@lru_cache(maxsize=256)
def sky_share(tilt_deg: float, horizon_deg: float) -> float:
    """Share of an even sky that the panel sees: (1 + cos tilt) / 2 over a level horizon, less behind one that stands higher."""
    tilt = math.radians(tilt_deg)
    whole = (1 + math.cos(tilt)) / 2
    if horizon_deg <= 0:
        return whole
    lowest = math.radians(horizon_deg)
    height_step, turn_step = (math.pi / 2 - lowest) / SKY_STEPS, math.pi / SKY_STEPS
    seen_share = 0.0
    for row in range(SKY_STEPS):
        height = lowest + (row + 0.5) * height_step
        for column in range(SKY_STEPS):
            turned = math.cos((column + 0.5) * turn_step)
            facing = math.cos(tilt) * math.sin(height) + math.sin(tilt) * math.cos(height) * turned
            seen_share += max(0.0, facing) * math.cos(height)
    return min(whole, 2 * seen_share * height_step * turn_step / math.pi)


def clearness_by_latitude(latitude_deg: float, month: int) -> float:
    """An estimate of the clearness index where no figures are given: careful, and lower in the winter of high latitudes.

    Fitted by eye to the published indices of 55.9° N (0.29 in January to 0.45 in May) and to sunny mid latitudes (0.53 at 35°); 0.50
    in the cloudy tropics (from memory). A published table for the place is better.
    """
    away = abs(latitude_deg)
    mean = 0.55 - 0.0067 * max(0.0, away - 30) - 0.0033 * max(0.0, 30 - max(away, 15))
    swing = 0.0029 * max(0.0, away - 30)
    midsummer = 6 if latitude_deg >= 0 else 12
    return mean + swing * math.cos(2 * math.pi * (month - midsummer) / 12)


def towards_sun(latitude: float, declination: float, hour_angle: float) -> tuple[float, float, float]:
    """Unit vector to the sun: east, north, up; angles in radians, the hour angle positive in the afternoon."""
    sin_lat, cos_lat = math.sin(latitude), math.cos(latitude)
    across = math.cos(declination) * math.cos(hour_angle)
    east = -math.cos(declination) * math.sin(hour_angle)
    north = math.sin(declination) * cos_lat - across * sin_lat
    return east, north, sin_lat * math.sin(declination) + cos_lat * across


def incidence_cosine(position: Position, east: float, north: float, up: float) -> float:
    """Cosine of the angle at which the sun meets the panel (Duffie & Beckman, eq. 1.6.2); below 0: it stands behind it."""
    tilt, bearing = math.radians(position.tilt_deg), math.radians(position.bearing_deg)
    return math.sin(tilt) * (math.sin(bearing) * east + math.cos(bearing) * north) + math.cos(tilt) * up
