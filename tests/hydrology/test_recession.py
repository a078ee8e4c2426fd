"""A spring that follows the seasons, lived through: what is said of it is near the truth; of a steady one nothing is said."""

import random
from dataclasses import replace
from datetime import UTC

from gateway.simulator.household.weather import WeatherMaker
from gateway.water.recession import recession
from tests.hydrology.measure import events_told
from tests.hydrology.supply import Vessel, settings_of, simulate
from tests.hydrology.worlds import any_world
from tests.water.learn_anew import learn

FILLS = 16


def season_of(at, season):
    """What the source gives then, over its mean."""
    return 1 - season * WeatherMaker(random.Random(0), None, ()).day(at.date()).warmth


def said_of(seed, season):
    """Of any supply with one tank and both floats, fill by fill: each recession that is said, its share over the true one."""
    world = any_world(seed)
    capacity = world.use * random.Random(seed).uniform(1, 4)
    house = Vessel(id="house", capacity=capacity, low=capacity * 0.3, high=capacity * 0.9)
    world = replace(world, tanks=(house,), season=season)
    story = simulate(world, seed, FILLS)
    events = events_told(story, story.switches[-1][0], True)
    learnt = learn(events, settings_of(world, 1.0), UTC)
    said = []
    for event in events:
        if event.kind == "high" and (found := recession([e for e in learnt.shown if e.at <= event.at], event.at)):
            said.append(found.share * season_of(found.since, season) / season_of(event.at, season))
    return said


def test_a_spring_that_halves_from_winter_to_summer_is_said_to():
    """In most supplies within sixteen fills, and what is said to be left is within a third of what is."""
    said = [said_of(seed, 0.5) for seed in range(10)]
    assert sum(bool(each) for each in said) >= 5
    assert all(0.67 < off < 1.5 for each in said for off in each)


def test_a_steady_spring_is_not_said_to_recede():
    """Ten of the hundred of which none was (`python -m tests.hydrology.test_recession` goes through all)."""
    assert not [seed for seed in range(10) if said_of(seed, 0.0)]


if __name__ == "__main__":
    print(sum(bool(said_of(seed, 0.0)) for seed in range(100)), "of 100 steady springs were said to recede")
    for swing in (0.3, 0.5):
        found = [said_of(seed, swing) for seed in range(100)]
        print(
            sum(map(bool, found)),
            f"of 100 that swing by {swing:.0%} either way were said to; share said over the true one:",
        )
        print(sorted(round(off, 2) for each in found for off in each)[:: max(1, sum(map(len, found)) // 20)])
