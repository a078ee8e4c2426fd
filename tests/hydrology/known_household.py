"""How near anybody could come: the household's true mean, hours and weekends known, and that the source stopped; only its days are not.

`python -m tests.hydrology.known_household` holds that beside the forecast, over supplies that no other measurement uses.
"""

import math
import statistics
from datetime import datetime, timedelta

from tests.hydrology.measure import ANY_TROUBLES, Told, outlook_at
from tests.hydrology.scores import Forecast, forecast
from tests.hydrology.supply import World, nature_of, settings_of, simulate
from tests.hydrology.worlds import any_figure, any_world

SUPPLIES = range(5000, 5040)
STEP = timedelta(minutes=5)


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


def main() -> None:
    """Both medians."""
    known: list[Forecast] = []
    told: list[Forecast] = []
    for seed in SUPPLIES:
        world = any_world(seed)
        story = simulate(world, seed, ANY_TROUBLES)
        figure, house = any_figure(seed), world.tanks[-1].id
        for episode in story.episodes:
            low, dry = episode.low_at, episode.dry_at
            if (
                episode.trouble != "supply-stopped"
                or low is None
                or dry is None
                or (low, house, "low") not in story.switches
            ):
                continue
            seen = outlook_at(
                world, story, settings_of(world, figure), Told(figure=figure, dry_told=seed % 2 == 0), low
            )
            if seen.dry_at is not None:
                known.append(forecast([expected_dry(world, low)] * 3, low, dry))
                told.append(forecast(seen.dry_at, low, dry))
    off, off_told = (statistics.median(each.factor for each in all_of) for all_of in (known, told))
    tenths = statistics.quantiles((math.log(each.true / each.likely) for each in known), n=10)
    width, width_told = math.exp(tenths[-1] - tenths[0]), statistics.median(each.width for each in told)
    print(
        f"{len(told)} spells of a stopped source: off by {off:.2f} with everything but the days known, by {off_told:.2f} as told; "
        f"late/early that held 80 % of them {width:.2f}, as told {width_told:.2f}"
    )


if __name__ == "__main__":
    main()
