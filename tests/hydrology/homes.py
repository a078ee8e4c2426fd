"""Households as published tables have them: days, hours and weekends of an end-use model and of meters, a pump and pipes as they are laid.

Where `worlds.py` is wild on purpose, these are what the aims speak of: one tank, two or three in a row, a high float below or not, a ram or any
steady source, its figure known or not. Sizes, floats, flows and figures are drawn by the seed; nothing was set by them.
"""

import math
import random

from gateway.simulator.household.nature import HOUR_SD
from gateway.simulator.household.use import DAY_CV, FIGURE_OFF_SD, WEEKEND, hours_of, household_kind
from tests.hydrology.supply import Vessel, World

FAMILIES: dict[str, tuple[int, bool]] = {
    "one tank, two floats": (1, True),
    "two in a row, low floats": (2, False),
    "two in a row, high float below": (2, True),
    "three in a row, low floats": (3, False),
    "three in a row, high float below": (3, True),
}
"""How many tanks, and whether the last has a high float."""
SOURCE_OFF_SD = 0.15


def home(family: str, seed: int, *, ram: bool = False) -> World:
    """One household of that family; the same for the same seed."""
    tanks, high = FAMILIES[family]
    rng = random.Random(f"{seed} {family}")
    people = rng.randint(1, 6)
    use = people * rng.uniform(100, 250)
    inflow = use * rng.uniform(1.6, 3.0)
    names = [*rng.sample(("spring", "settling", "hill"), tanks - 1), "house"]
    return World(
        tanks=tuple(_vessel(rng, name, use, high=high and name == "house") for name in names),
        use=use,
        inflow=inflow,
        pipe=inflow * rng.uniform(2.0, 4.0),
        day_sd=math.sqrt(math.log(1 + DAY_CV[household_kind(people)] ** 2)),
        hour_sd=HOUR_SD,
        hysteresis=rng.uniform(0.02, 0.05),
        pattern=hours_of(people),
        weekend=WEEKEND,
        heavy=(3, 7),
        ram=ram,
    )


def figures_of(seed: int) -> tuple[float, float]:
    """The household's own figures for its use and its source, over the truth."""
    rng = random.Random(f"{seed} figures")
    return math.exp(rng.gauss(0, FIGURE_OFF_SD)), math.exp(rng.gauss(0, SOURCE_OFF_SD))


def _vessel(rng: random.Random, name: str, use: float, *, high: bool) -> Vessel:
    capacity = use * (rng.uniform(2.0, 5.0) if name == "house" else rng.uniform(0.8, 4.0))
    low = capacity * rng.uniform(0.2, 0.4)
    return Vessel(id=name, capacity=capacity, low=low, high=capacity * rng.uniform(0.9, 0.95) if high else 0.0)
