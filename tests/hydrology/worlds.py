"""A seed → any supply: one to four tanks of any size, floats at any height, any habit, and a figure for use that is off.

Wide on purpose and never tuned to: what the forecasts are held to when nobody knows the household.
"""

import random

from tests.hydrology.supply import FLAT, Vessel, World

NAMES = ("spring", "settling", "hill")


def any_world(seed: int) -> World:
    """One household; the same for the same seed."""
    rng = random.Random(seed)
    use = rng.uniform(200, 2500)
    inflow = use * rng.uniform(1.4, 4.0)
    count = rng.choice((1, 1, 2, 2, 3, 4))
    names = [*rng.sample(NAMES, count - 1), "house"]
    return World(
        tanks=tuple(_vessel(rng, name, use) for name in names),
        use=use,
        inflow=inflow,
        pipe=inflow * rng.uniform(1.0, 4.0),
        day_sd=rng.uniform(0.1, 0.4),
        hour_sd=rng.uniform(0.2, 0.8),
        hysteresis=rng.uniform(0.01, 0.05),
        pattern=_habit(rng),
        weekend=rng.choice((1.0, 1.0, 0.6, 1.6)),
        heavy=rng.choice(((4, 9), (2, 5))),
        leaks=rng.random() < 0.7,
    )


def any_figure(seed: int) -> float:
    """The household's own figure over the truth: right, or off by up to a third."""
    return random.Random(-seed).choice((1.0, random.Random(seed).uniform(0.67, 1.33)))


def _vessel(rng: random.Random, name: str, use: float) -> Vessel:
    capacity = use * rng.uniform(1.2, 8.0) if name == "house" else use * rng.uniform(0.4, 5.0)
    low = capacity * rng.uniform(0.12, 0.5)
    high = capacity * rng.uniform(0.85, 0.95) if rng.random() < 0.5 else 0.0
    return Vessel(id=name, capacity=capacity, low=low, high=high)


def _habit(rng: random.Random) -> tuple[float, ...]:
    peaks = rng.sample(range(5, 23), 4)
    night = rng.uniform(0.05, 1.0)
    shares = tuple(night if hour < 5 else rng.uniform(2.0, 4.0) if hour in peaks else 1.0 for hour in range(24))
    return rng.choice((shares, shares, FLAT))
