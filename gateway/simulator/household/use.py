"""Who draws water, day by day and hour by hour: people, animals, the garden.

Hours: an end-use model's mean of homes of one, two and more (`use_by_hour.csv`: pysimdeum 1.0.1 after Blokker 2006, computed).
Days differ: coefficient of variation 0.45 for one person, 0.30 for two, 0.28 for more (the same model; a lower bound), log-normal; at
weekends a tenth more (smart meters of 1,871 households). Outdoors up to 30 % of use in the warmest weeks (63 homes, Johannesburg 2021).
Animals drink by daylight, half as much again on a hot day (published livestock tables: 21 °C against 32 °C).
The household's own figure is off: by a log-normal factor of 0.2, which the gateway does not know.
"""

import csv
import math
import random
from datetime import date
from importlib import resources

from gateway.settings.water_tables import Demand
from gateway.simulator.household.nature import Habits
from gateway.simulator.household.weather import Weather

FIGURE_OFF_SD = 0.2
DAY_CV = {"one": 0.45, "two": 0.30, "family": 0.28}
WEEKEND = 1.10
OUTDOOR_AT_MOST = 0.30
HOT_CELSIUS, MILD_CELSIUS = 32.0, 21.0
MORE_WHEN_HOT = 0.5
PEOPLE_WHERE_NOBODY_SAYS = 3.0
LITRES_A_HEAD_DAY = {
    "dairy cow": 70.0, "lactating cow": 70.0, "lactating cattle": 70.0, "beef cow": 60.0, "dry cow": 41.0, "heifer": 35.0,
    "steer": 36.0, "bull": 49.0, "non-lactating cattle": 45.0, "calf": 25.0, "working horse": 55.0, "horse": 35.0,
    "sheep": 4.0, "lactating ewe": 8.9, "goat": 4.0, "milking goat": 11.0, "gestating sow": 11.0, "lactating sow": 18.9, "weaner pig": 2.9,
    "growing pig": 4.4, "finishing pig": 6.6, "broiler": 0.3, "laying hen": 0.27, "lamb": 1.0, "sow": 25.0, "poultry": 0.2, "hen": 0.2,
}  # fmt: skip
"""Litres a head a day on a mild day (New Zealand farm notes 2008; beef cattle after NRC 1996)."""


def hours_of(people: float) -> tuple[float, ...]:
    """Each hour's share of the mean, from local midnight; the mean of all is 1."""
    household = household_kind(people)
    with (resources.files(__package__) / "use_by_hour.csv").open(encoding="utf-8") as file:
        shares = [float(row["share_of_mean"]) for row in csv.DictReader(file) if row["household"] == household]
    mean = sum(shares) / len(shares)
    return tuple(share / mean for share in shares)


def household_kind(people: float) -> str:
    """Which of the published homes comes nearest."""
    return "one" if people < 1.5 else "two" if people < 2.5 else "family"


class Use:
    """Litres an hour that leave the tank above the taps; its habits are drawn where they are not given."""

    def __init__(self, rng: random.Random, demand: Demand, habits: Habits | None = None) -> None:
        self._rng = rng
        self._people = demand.people or (0.0 if demand.animals or demand.other_litres_day else PEOPLE_WHERE_NOBODY_SAYS)
        cv = DAY_CV[household_kind(self._people)]
        self._habits = habits or Habits(
            truth=math.exp(rng.gauss(0, FIGURE_OFF_SD)),
            hours=hours_of(self._people),
            day_sd=math.sqrt(math.log(1 + cv**2)),
            weekend=WEEKEND,
            outdoors=OUTDOOR_AT_MOST,
        )
        self._people_l_day = self._people * demand.litres_per_person_day
        self._animals_l_day = sum(
            animals.head * _litres_a_head(animals.kind, animals.litres_per_head_day) for animals in demand.animals
        )
        self._other_l_day = demand.other_litres_day
        self._day_factor, self._animal_factor, self._garden_l_day = 1.0, 1.0, 0.0

    @property
    def mean_l_day(self) -> float:
        """The real mean of a mild day."""
        return self._habits.truth * (self._people_l_day + self._animals_l_day + self._other_l_day)

    def begin_day(self, day: date, weather: Weather) -> None:
        """Draws the day's habits."""
        sd = self._habits.day_sd
        factor = math.exp(self._rng.gauss(-(sd**2) / 2, sd))
        self._day_factor = factor * (self._habits.weekend if day.weekday() >= 5 else 1.0)
        heat = (weather.celsius - MILD_CELSIUS) / (HOT_CELSIUS - MILD_CELSIUS)
        self._animal_factor = 1 + MORE_WHEN_HOT * min(max(heat, 0.0), 1.0)
        share = self._habits.outdoors * max(weather.warmth, 0.0)
        self._garden_l_day = self._people_l_day * share / (1 - share)

    def litres_an_hour(self, hour: int) -> float:
        """In that local hour, before its own chance."""
        people = self._people_l_day / 24 * self._habits.hours[hour] * self._day_factor
        garden = self._garden_l_day / 4 if 17 <= hour < 21 else 0.0
        animals = self._animals_l_day * self._animal_factor / 12 if 7 <= hour < 19 else 0.0
        return self._habits.truth * (people + garden + animals + self._other_l_day / 24)


def _litres_a_head(kind: str, own_figure: float | None) -> float:
    return own_figure if own_figure is not None else LITRES_A_HEAD_DAY.get(kind, 0.0)
