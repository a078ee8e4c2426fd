"""Which low spells teach: each trouble once, however many tanks it reached, and the last twelve troubles."""

from datetime import UTC, datetime, timedelta

import pytest

from tests.hydrology.supply import Vessel, World, settings_of
from tests.water.learn_anew import learn

T0 = datetime(2026, 3, 1, tzinfo=UTC)
TWO = World(
    tanks=(Vessel(id="spring", capacity=2000, low=500), Vessel(id="house", capacity=4000, low=1000)),
    use=500,
    inflow=1400,
    pipe=3000,
)
SPRING, HOUSE = ("spring", 0.0, 3.0), ("house", 1.0, 2.5)


class Event:
    """As much of one as is learnt from."""

    def __init__(self, at, kind, tank):
        self.at, self.kind, self.tank = at, kind, tank


def told(*spells, start=T0):
    """Low spells: tank, first and last day."""
    switches = [(first, "low", tank) for tank, first, _ in spells] + [
        (last, "low-over", tank) for tank, _, last in spells
    ]
    return [Event(start + day * timedelta(days=1), kind, tank) for day, kind, tank in sorted(switches)]


def taught(events):
    """What the household's own rates of trouble and its use are taken for."""
    learnt = learn(events, settings_of(TWO, 1.0), UTC)
    return learnt.rates, learnt.use


def test_a_trouble_that_reached_two_tanks_teaches_once():
    """The spring tank, well again half a day after the house tank, tells of the same trouble: nothing more is learnt from that."""
    whole = told(SPRING, HOUSE)
    assert whole[-1].tank == "spring"
    assert taught(whole) == taught(whole[:-1]) != taught([])


@pytest.mark.parametrize("later", [("spring", 10.0, 12.0), ("house", 10.0, 11.0)])
def test_a_tank_that_was_low_by_itself_teaches(later):
    """Before the trouble of both or after it."""
    both = told(SPRING, HOUSE)
    assert taught([*both, *told(later)]) != taught(both)
    assert taught([*told(later, start=T0 - timedelta(days=30)), *both]) != taught(both)


def test_a_spell_that_somebody_ended_teaches_nothing():
    """When it was over nobody knows; the next one teaches again."""
    said = [
        *told(HOUSE)[:-1],
        Event(T0 + timedelta(days=2), "low-over-said", "house"),
        Event(T0 + timedelta(days=3), "low-over", "house"),
    ]
    assert taught(said) == taught([])


def test_the_last_twelve_troubles_teach():
    """Of twenty troubles of both tanks the first eight are as if they had never been, and the ninth counts."""
    ends = [told(SPRING, HOUSE, start=T0 + number * timedelta(days=20)) for number in range(20)]
    early = [told(SPRING, ("house", 0.2, 2.9), start=T0 + number * timedelta(days=20)) for number in range(9)]
    every = taught([event for end in ends for event in end])
    assert every == taught([event for end in [*early[:8], *ends[8:]] for event in end])
    assert every != taught([event for end in [*early[:9], *ends[9:]] for event in end])
    assert every != taught([event for end in ends[9:] for event in end])
