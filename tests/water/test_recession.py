"""A spring that recedes is said to, with what it gave and gives; a step, noise, or too little is not taken for one."""

import math
import random
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from gateway.water.flow_belief import Fill, came_by
from gateway.water.recession import Shown, recession
from gateway.water.tank_now import FloatSeen, TankNow
from gateway.water.tank_outlook import outlook
from tests.hydrology.supply import Vessel, World, settings_of
from tests.water.learn_anew import learn

T0 = datetime(2026, 3, 1, tzinfo=UTC)
DAY = timedelta(days=1)


def shown(*litres, every=5, sd=0.05):
    """What the source gave, each so many days after the last."""
    return [Shown(at=T0 + number * every * DAY, log_l_day=math.log(each), sd=sd) for number, each in enumerate(litres)]


def falling(count, a_day, every=5):
    """1000 litres a day that fall by that share each day (Maillet's recession)."""
    return [1000 * math.exp(-a_day * every * number) for number in range(count)]


def test_an_exponential_recession_is_read_off_exactly():
    """By hand: 3 % a day over 35 days leaves exp(-1.05) = 0.350 of it."""
    found = recession(shown(*falling(8, 0.03)), T0 + 36 * DAY)
    assert found.since == T0
    assert (found.was_l_day, found.now_l_day) == (pytest.approx(1000), pytest.approx(349.94, abs=0.1))
    assert found.share == pytest.approx(0.350, abs=1e-3)


def test_each_showing_counts_as_much_as_it_is_sure():
    """By hand: weights 1/sd²; a wild one of sd 1 among sure ones of 0.01 moves the line by next to nothing."""
    sure = shown(*falling(8, 0.03), sd=0.01)
    wild = Shown(at=T0 + 17 * DAY, log_l_day=math.log(5000), sd=1.0)
    assert recession([*sure, wild], T0 + 36 * DAY).now_l_day == pytest.approx(349.94, rel=0.01)


@pytest.mark.parametrize(
    ("seen", "after_days"),
    [
        (shown(*falling(5, 0.04)), 21),  # five are too few
        (shown(*falling(8, 0.1, every=2), every=2), 15),  # a fortnight is no trend of weeks
        (shown(*falling(8, 0.004)), 36),  # a seventh less
        (shown(*falling(8, 0.03)), 66),  # a month later nobody knows
        (shown(*([1000] * 4 + [500] * 4)), 36),  # a step
        (shown(*([1000] * 9 + [400] * 2)), 51),  # a late one
        (shown(*reversed(falling(8, 0.03))), 36),  # it gives more and more
        (shown(1000, 700, 1100, 600, 1000, 650, 900, 600), 36),  # it goes up and down
    ],
)
def test_what_does_not_show_a_recession_is_not_said(seen, after_days):
    """Too few, too short, too little, too old, a step, a rise, a scatter."""
    assert recession(seen, T0 + after_days * DAY) is None


def test_what_was_in_another_season_does_not_count():
    """Half a year ago it gave twice as much, and has given the same for two months."""
    old = [Shown(at=T0 - 200 * DAY, log_l_day=math.log(2000), sd=0.05)] * 6
    level = shown(*[1000] * 8)
    assert recession([*old, *level], T0 + 36 * DAY) is None
    assert recession([*old, *shown(*falling(8, 0.03))], T0 + 36 * DAY).was_l_day == pytest.approx(1000)


def test_steady_springs_are_hardly_ever_said_to_recede():
    """Forty showings that scatter by what they say they do, looked at with each: of a hundred springs at most two."""
    said = 0
    for seed in range(100):
        rng = random.Random(seed)
        seen = shown(*(1000 * math.exp(rng.gauss(0, 0.1)) for _ in range(40)), every=6, sd=0.1)
        said += any(recession(seen[: count + 1], seen[count].at) for count in range(5, 40))
    assert said <= 2


@pytest.mark.parametrize("seed", range(8))
def test_a_noisy_recession_is_found_within_two_months(seed):
    """2 % a day, showings each five days that differ by a tenth."""
    rng = random.Random(seed)
    seen = shown(*(each * math.exp(rng.gauss(0, 0.1)) for each in falling(12, 0.02)), sd=0.1)
    assert 0.2 < recession(seen, seen[-1].at).share < 0.5


@pytest.mark.parametrize(
    ("fill", "came", "sd"),
    [
        (Fill(litres=1000, days=2, used_days=2, above_l=0), 800, math.hypot(0.05, 0.3 * 300 / 800 / math.sqrt(2))),
        (Fill(litres=-300, days=4, used_days=4, above_l=0), 225, math.hypot(0.05, 0.3 * 300 / 225 / 2)),
        (Fill(litres=-1200, days=3, used_days=3, above_l=0), -100, math.hypot(0.05, 0.3 * 2 / math.sqrt(3))),
    ],
)
def test_what_came_is_what_was_gained_and_used(fill, came, sd):
    """By hand, at 300 litres a day: filled or fallen by so much in so long; the less came of what was used, the less sure it is."""
    assert came_by(fill, 300.0) == (pytest.approx(came), pytest.approx(sd))


class Event:
    """As much of one as is learnt from."""

    def __init__(self, day, kind, tank="house"):
        self.at, self.kind, self.tank = T0 + day * DAY, kind, tank


ONE = World(tanks=(Vessel(id="house", capacity=3000, low=1000, high=2800),), use=300, inflow=600, pipe=0)


@pytest.mark.parametrize(
    ("events", "litres_a_day"),
    [
        # 1800 litres up in six days, 300 used a day: 600 came
        ([(0, "low"), (1, "low-over"), (7, "high")], [600]),
        # 1800 down in eighteen days: 200 of the 300 came
        ([(0, "high"), (1, "high-over"), (19, "low")], [200]),
        # in nine: 100, less than half of the use; in five: more went than is used. A cut, a leak: nobody knows
        ([(0, "high"), (1, "high-over"), (10, "low")], []),
        ([(0, "high"), (1, "high-over"), (6, "low")], []),
        # it was not full before, or is low already
        ([(0, "low"), (1, "low-over"), (19, "low")], []),
        ([(0, "high"), (1, "high-over"), (19, "low"), (40, "low")], [200]),
    ],
)
def test_fills_and_slow_falls_show_what_the_source_gives(events, litres_a_day):
    """Of the tank that the source runs into, between its two floats."""
    learnt = learn([Event(*event) for event in events], settings_of(ONE, 1.0), UTC)
    assert [math.exp(each.log_l_day) for each in learnt.shown] == pytest.approx(litres_a_day)
    assert [each.at for each in learnt.shown] == [T0 + event[0] * DAY for event in events if event[0] in (7, 19)][
        : len(litres_a_day)
    ]


def test_a_tank_below_another_shows_nothing_of_the_source_by_its_fall():
    """What runs into it is what the pipe passes."""
    spring = Vessel(id="spring", capacity=1000, low=300)
    two = World(tanks=(spring, *ONE.tanks), use=300, inflow=600, pipe=900)
    events = [Event(*event) for event in ((0, "high"), (1, "high-over"), (19, "low"))]
    assert learn(events, settings_of(two, 1.0), UTC).shown == ()


def test_a_low_tank_is_told_with_what_the_source_gives_less():
    """In the sentence of its cause, in litres a minute; nothing where nothing shows it."""
    settings, now = settings_of(ONE, 1.0), T0 + 36 * DAY
    low = {
        "house": TankNow(
            state="low", since=now, floats=(FloatSeen(means="low", level_m=1 / 3, state="active", since=now),)
        )
    }
    learnt = learn([], settings, UTC)
    plain, receding = (
        outlook(settings, low, each, now, UTC, str)["house"].cause.because
        for each in (learnt, replace(learnt, shown=tuple(shown(*falling(8, 0.03)))))
    )
    assert receding == f"{plain} Likely the source gives less than 36 days ago: about 0.2 of 0.7 l/min."
