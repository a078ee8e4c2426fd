"""A simulated supply: source, tanks in a row, pipes, a household with habits and noise, floats with hysteresis, trouble.

Steps of five minutes. What the floats say is all that the forecasts get; when the house tank was really dry or full is kept aside.
"""

import math
import random
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Literal

Trouble = Literal["supply-stopped", "blocked-between", "heavy-draw"]
STEP = timedelta(minutes=5)
STEP_H = 5 / 60
START = datetime(2026, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class Vessel:
    """One tank: capacity, litres below its low float, and (0: none) at its high float."""

    id: str
    capacity: float
    low: float
    high: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """A family of parameters. `use` is the true mean; `inflow` the source's, `pipe` what comes down between tanks, litres a day.

    `weekend`: use on two days of seven, times the others'; `heavy`: what a leak or a hose takes, in times the use,
    around the clock if it `leaks`, else by the house's hours (a garden, guests).
    """

    tanks: tuple[Vessel, ...]
    use: float
    inflow: float
    pipe: float
    day_sd: float = 0.2
    hour_sd: float = 0.4
    hysteresis: float = 0.03
    pattern: tuple[float, ...] = ()
    weekend: float = 1.0
    heavy: tuple[float, float] = (4, 9)
    leaks: bool = True


@dataclass(slots=True)
class Episode:
    """One trouble: what it was, when it was made, when the house tank was low, dry, over and full."""

    trouble: Trouble
    began: datetime
    low_at: datetime | None = None
    dry_at: datetime | None = None
    over_at: datetime | None = None
    full_at: datetime | None = None


@dataclass(slots=True)
class Story:
    """What happened: (time, tank, kind) as floats said it, and the truth."""

    switches: list[tuple[datetime, str, str]] = field(default_factory=list)
    episodes: list[Episode] = field(default_factory=list)


EVENING = tuple(0.3 if h < 6 else 1.8 if h in (7, 8, 18, 19, 20) else 0.95 for h in range(24))
FLAT = (1.0,) * 24


def simulate(world: World, seed: int, troubles: int) -> Story:
    """So many troubles, one after the other, each until the house tank was dry and full again (or it was given up)."""
    rng = random.Random(seed)
    litres = [tank.capacity * 0.97 for tank in world.tanks]
    story = Story()
    state = {tank.id: {"low": False, "high": True} for tank in world.tanks}
    at, day_factor, day = START, 1.0, -1
    episode: Episode | None = None
    next_trouble = START + timedelta(days=rng.uniform(2, 5))
    factor = 1.0
    while len(story.episodes) < troubles or episode is not None:
        if at.timetuple().tm_yday != day:
            day, day_factor = at.timetuple().tm_yday, math.exp(rng.gauss(0, world.day_sd))
            day_factor *= world.weekend if at.weekday() >= 5 else 1.0
        if episode is None and at >= next_trouble:
            kind: Trouble = rng.choice(
                ("supply-stopped", "heavy-draw")
                if len(litres) == 1
                else ("supply-stopped", "blocked-between", "heavy-draw")
            )
            factor = rng.uniform(*world.heavy) if kind == "heavy-draw" else 1.0
            episode = Episode(kind, at)
            story.episodes.append(episode)
        mended = episode is not None and episode.dry_at is not None and at - episode.dry_at > timedelta(hours=4)
        _flow(world, litres, rng, at, day_factor, None if mended else episode, factor)
        _floats(world, litres, state, rng, at, story, episode)
        house = litres[-1]
        if episode is not None and not mended and house <= 1.0 and episode.dry_at is None and episode.low_at:
            episode.dry_at = at
        if mended and episode is not None and house >= world.tanks[-1].capacity * 0.985:
            episode.full_at = at
            episode, next_trouble = None, at + timedelta(days=rng.uniform(3, 8))
        if episode is not None and at - episode.began > timedelta(days=60):
            story.episodes.remove(episode)
            episode, next_trouble = None, at + timedelta(days=5)
            litres = [tank.capacity * 0.97 for tank in world.tanks]
        at += STEP
        if at - START > timedelta(days=60 * troubles + 60):
            break
    return story


def _flow(
    world: World,
    litres: list[float],
    rng: random.Random,
    at: datetime,
    day_factor: float,
    episode: Episode | None,
    factor: float,
) -> None:
    trouble = episode.trouble if episode else None
    source = 0.0 if trouble == "supply-stopped" else world.inflow / 24 * STEP_H * rng.uniform(0.9, 1.1)
    litres[0] = min(world.tanks[0].capacity, litres[0] + source)
    for index in range(1, len(litres)):
        blocked = trouble == "blocked-between" and index == len(litres) - 1
        room = world.tanks[index].capacity - litres[index]
        down = 0.0 if blocked else min(world.pipe / 24 * STEP_H, litres[index - 1], room)
        litres[index - 1] -= down
        litres[index] += down
    pattern = world.pattern or EVENING
    draw = (
        world.use
        / 24
        * STEP_H
        * pattern[at.hour]
        / (sum(pattern) / 24)
        * day_factor
        * math.exp(rng.gauss(0, world.hour_sd))
    )
    draw *= math.exp(-(world.hour_sd**2) / 2)
    if trouble == "heavy-draw":
        more = factor * world.use / 24 * STEP_H if world.leaks else factor * draw
        draw += more + world.inflow / 24 * STEP_H
    litres[-1] = max(0.0, litres[-1] - draw)


def _floats(
    world: World,
    litres: list[float],
    state: dict[str, dict[str, bool]],
    rng: random.Random,
    at: datetime,
    story: Story,
    episode: Episode | None,
) -> None:
    for index, tank in enumerate(world.tanks):
        now = state[tank.id]
        band = world.hysteresis * tank.capacity
        house = index == len(world.tanks) - 1
        if not now["low"] and litres[index] < tank.low * (1 + rng.gauss(0, 0.01)):
            now["low"] = True
            story.switches.append((at, tank.id, "low"))
            if house and episode is not None and episode.low_at is None:
                episode.low_at = at
        elif now["low"] and litres[index] > tank.low + band:
            now["low"] = False
            story.switches.append((at, tank.id, "low-over"))
            if house and episode is not None and episode.dry_at is not None and episode.over_at is None:
                episode.over_at = at
        if tank.high and not now["high"] and litres[index] > tank.high:
            now["high"] = True
            story.switches.append((at, tank.id, "high"))
        elif tank.high and now["high"] and litres[index] < tank.high - band:
            now["high"] = False
            story.switches.append((at, tank.id, "high-over"))
