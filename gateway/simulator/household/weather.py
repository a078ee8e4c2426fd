"""The day's warmth and sun at a place, drawn by a seed: seasons as a sine, days that hang together.

The year's course is common practice (warmest about a month after the longest day); from day to day the departure from it goes on by
0.7 (an autoregression of the first order is the usual daily weather generator: Richardson, Water Resour. Res. 17, 1981, from memory).
"""

import math
import random
from dataclasses import dataclass
from datetime import date

MEAN_CELSIUS, SWING_CELSIUS = 14.0, 8.0
"""A temperate place, where the configuration gives no `monthly_celsius` (an assumption, said in the summary)."""
GOES_ON = 0.7
DAY_SD_CELSIUS = 3.0
CLEAR_MEAN, CLEAR_SD = 0.5, 0.18
"""Share of the sun outside the air that reaches the ground; a dull day has 0.15 or less."""
WARMEST_DAY_NORTH = 200


@dataclass(slots=True, kw_only=True)
class Weather:
    """`celsius`: the day's mean; `clearness`: 0..1; `warmth`: -1 in the coldest week to 1 in the warmest."""

    celsius: float = MEAN_CELSIUS
    clearness: float = CLEAR_MEAN
    warmth: float = 0.0


class WeatherMaker:
    """A day after the other, each once. `latitude` below 0 turns the seasons round; `colder_by` shifts whole days."""

    def __init__(self, rng: random.Random, latitude: float | None, monthly_celsius: tuple[float, ...]) -> None:
        self._rng = rng
        self._south = latitude is not None and latitude < 0
        self._monthly = monthly_celsius
        self._departure = 0.0
        self._dullness = 0.0

    def day(self, day: date, *, colder_by: float = 0.0, dull: bool = False) -> Weather:
        """That day's weather."""
        noise = math.sqrt(1 - GOES_ON**2)
        self._departure = GOES_ON * self._departure + self._rng.gauss(0, DAY_SD_CELSIUS) * noise
        self._dullness = GOES_ON * self._dullness + self._rng.gauss(0, CLEAR_SD) * noise
        warmest = WARMEST_DAY_NORTH + (182 if self._south else 0)
        warmth = math.cos(2 * math.pi * (day.timetuple().tm_yday - warmest) / 365.25)
        normal = self._monthly[day.month - 1] if self._monthly else MEAN_CELSIUS + SWING_CELSIUS * warmth
        clearness = min(0.75, max(0.05, CLEAR_MEAN + 0.08 * warmth + self._dullness))
        return Weather(
            celsius=normal + self._departure - colder_by,
            clearness=min(clearness, 0.15) if dull else clearness,
            warmth=warmth,
        )
