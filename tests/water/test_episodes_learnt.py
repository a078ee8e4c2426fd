"""Which low spells teach: each trouble once, however many tanks it reached, and the last twelve troubles."""

from dataclasses import replace
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


def taught(events, world=TWO):
    """What the household's own rates of trouble and its use are taken for."""
    learnt = learn(events, settings_of(world, 1.0), UTC)
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


def blocked_and_mended(dry_told):
    """The house tank low and dry below a spring tank that stands; mended, it fills from that, which is low for it before and after
    the house tank is well again."""
    texts = [("low", "house", 0.0), ("ran-dry", "house", 2.0), ("low", "spring", 2.3), ("low-over", "house", 2.4)]
    return [
        Event(T0 + day * timedelta(days=1), kind, tank) for kind, tank, day in texts if dry_told or kind != "ran-dry"
    ]


@pytest.mark.parametrize("dry_told", [True, False])
def test_what_a_tank_filled_from_is_no_witness_of_its_trouble(dry_told):
    """The spring tank was low only after the pipe was mended: it stood while the house tank fell."""
    before, after = taught([])[0].kinds, taught(blocked_and_mended(dry_told))[0].kinds
    assert after[1] > before[1] + 0.05
    assert after[0] < before[0] and after[2] < before[2]


def test_a_tank_that_was_low_for_filling_the_one_below_tells_of_no_trouble():
    """The spring tank, low half a day after the house tank was well again and for a day; once that is full it would be a trouble of its own."""
    both = told(("house", 0.0, 2.5))
    assert taught([*both, *told(("spring", 3.0, 4.0))])[0].kinds == taught(both)[0].kinds
    assert taught([*both, *told(("spring", 13.0, 14.0))])[0].kinds != taught(both)[0].kinds


def test_a_blocked_pipe_of_two_counts_as_one_trouble():
    """Six that were blocked, of two, and two lows above: of four cases before (0.42, twice 0.24, 0.34) and eight at most 9.92 in 12.96."""
    three = replace(TWO, tanks=(Vessel(id="hill", capacity=2000, low=500), *TWO.tanks))
    events = told(("spring", 0.0, 0.1), ("hill", 0.1, 0.2), start=T0 - timedelta(days=30))
    for number in range(6):
        start = T0 + number * timedelta(days=30)
        fell, rose = told(("house", 0.0, 4.0), start=start)
        events += [fell, Event(start + timedelta(days=2), "ran-dry", "house"), rose]
    at_source, between, more = taught(events, three)[0].kinds
    assert 0.55 < 2 * between / (at_source + 2 * between + more) <= 9.92 / 12.96
