"""How near anybody could come: the household's true mean, hours and weekends known, and the cause; only its days are not.

`python -m tests.hydrology.known_household` holds that beside the forecast: spells of a stopped source or a blocked pipe, where the use is all
there is to know, in supplies of any kind that no other measurement uses and in households as published tables have them.
"""

import math
import statistics
from collections.abc import Iterator
from datetime import datetime, timedelta

from tests.hydrology.homes import FAMILIES, figures_of, home
from tests.hydrology.measure import ANY_TROUBLES, KNOWN, OF_A_HOME, Told, outlook_at
from tests.hydrology.scores import Forecast, forecast
from tests.hydrology.supply import Story, World, nature_of, settings_of, simulate
from tests.hydrology.worlds import any_figure, any_world

SUPPLIES = range(5000, 5040)
STEP = timedelta(minutes=5)
Case = tuple[World, Story, Told, int]


def any_supplies() -> Iterator[Case]:
    """Each with what its household says of it; all its episodes count."""
    for seed in SUPPLIES:
        world = any_world(seed)
        yield (
            world,
            simulate(world, seed, ANY_TROUBLES),
            Told(figure=any_figure(seed), dry_told=seed % 2 == 0),
            0,
        )


def homes() -> Iterator[Case]:
    """The same of those with published habits; eight episodes are known."""
    for family in FAMILIES:
        for seed in SUPPLIES:
            world = home(family, seed)
            use, flow = figures_of(seed)
            yield (
                world,
                simulate(world, seed, OF_A_HOME),
                Told(figure=use, source=flow, dry_told=seed % 2 == 0),
                KNOWN,
            )


def expected_dry(world: World, low_at: datetime) -> datetime:
    """When what stands below the house tank's low float is used up, at the mean of each hour and weekday."""
    hours, left, at = nature_of(world).habits.hours, world.tanks[-1].low, low_at
    while left > 0:
        left -= (
            world.use
            / 24
            * hours[at.hour]
            * (world.weekend if at.weekday() >= 5 else 1.0)
            * (STEP / timedelta(hours=1))
        )
        at += STEP
    return at


def held(cases: Iterator[Case]) -> str:
    """Both medians."""
    known: list[Forecast] = []
    told_of: list[Forecast] = []
    for world, story, told, first in cases:
        settings, house = settings_of(world, told.figure, told.source), world.tanks[-1].id
        for episode in story.episodes[first:]:
            low, dry = episode.low_at, episode.dry_at
            if episode.trouble == "heavy-draw" or low is None or dry is None:
                continue
            if (low, house, "low") not in story.switches:
                continue
            seen = outlook_at(world, story, settings, told, low)
            if seen.dry_at is not None:
                known.append(forecast([expected_dry(world, low)] * 3, low, dry))
                told_of.append(forecast(seen.dry_at, low, dry))
    off, off_told = (statistics.median(each.factor for each in all_of) for all_of in (known, told_of))
    tenths = statistics.quantiles((math.log(each.true / each.likely) for each in known), n=10)
    width, width_told = math.exp(tenths[-1] - tenths[0]), statistics.median(each.width for each in told_of)
    return (
        f"{len(told_of)} spells of a cut: off by {off:.2f} with everything but the days known, by {off_told:.2f} as told; "
        f"late/early that held 80 % of them {width:.2f}, as told {width_told:.2f}"
    )


if __name__ == "__main__":
    print("any supply:", held(any_supplies()))
    print("published habits:", held(homes()))
