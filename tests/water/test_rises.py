"""What the source gives and a pipe passes, from how a tank came up again: after dry taps, or once all below it was full."""

import math
from datetime import UTC, datetime, timedelta

import pytest

from gateway.water.explanations import PIPE_TIMES, pipe_prior
from gateway.water.flow_belief import Fill, flow_prior, mean_of, source_seen
from gateway.water.rises import rises_since_dry
from tests.hydrology.supply import Vessel, World, settings_of
from tests.water.learn_anew import learn
from tests.water.test_episodes_learnt import Event

T0 = datetime(2026, 3, 1, tzinfo=UTC)
USE, SOURCE = 500.0, 1400.0
HOUSE = Vessel(id="house", capacity=4000, low=1800)
SPRING = Vessel(id="spring", capacity=2000, low=500)
MENDED_AFTER = 0.25


def learnt_of(tanks, figure, *troubles):
    """What some episodes teach, twenty days apart, each a list of (days since it began, what, tank)."""
    events = [
        Event(T0 + timedelta(days=20 * number + day), kind, tank)
        for number, trouble in enumerate(troubles)
        for day, kind, tank in sorted(trouble)
    ]
    return learn(events, settings_of(World(tanks=tanks, use=USE, inflow=SOURCE, pipe=3000), 1.0, figure), UTC)


def dry_and_mended(rises_l_day):
    """The house tank, low at noon, dry after what stands below its float; the water comes back some hours later."""
    dry_at = HOUSE.low / USE
    return [
        (0.0, "low", "house"),
        (dry_at, "ran-dry", "house"),
        (dry_at + MENDED_AFTER + HOUSE.low / rises_l_day, "low-over", "house"),
    ]


@pytest.mark.parametrize("figure", [0.5, 1.0, 2.0])
def test_a_tank_without_a_high_float_shows_its_source_by_how_it_rose_from_dry_taps(figure):
    """1800 l at 1400 - 500 a day: two days after a quarter of one. The figure may be twice or half of the truth."""
    learnt = learnt_of((HOUSE,), figure, *[dry_and_mended(SOURCE - USE)] * 5)
    assert learnt.source_l_day == pytest.approx(SOURCE, rel=0.25)


def test_a_tank_that_did_not_run_dry_shows_nothing_of_the_source():
    """How far it fell nobody knows."""
    spell = [(day, kind, tank) for day, kind, tank in dry_and_mended(SOURCE - USE) if kind != "ran-dry"]
    assert learnt_of((HOUSE,), 2.0, *[spell] * 5).source_l_day == pytest.approx(2 * SOURCE)


@pytest.mark.parametrize("figure", [0.5, 2.0])
def test_a_tank_above_shows_its_source_once_the_one_below_is_full(figure):
    """2200 l more for the house tank, 500 for the spring's float, 900 a day: three days between the two texts. One episode tells."""
    trouble = [
        (0.0, "low", "spring"),
        (5.4, "low", "house"),
        (8.0, "low-over", "house"),
        (11.0, "low-over", "spring"),
    ]
    assert learnt_of((SPRING, HOUSE), figure, trouble).source_l_day == pytest.approx(SOURCE, rel=0.15)


def test_a_pipe_that_was_blocked_shows_what_it_passes_by_how_fast_the_tank_below_rose():
    """With the spring tank full the house rises at P - U: by the thin pipe's pace, and by the wide one's."""
    thin, wide = (
        learnt_of((SPRING, HOUSE), 1.0, *[dry_and_mended(times * SOURCE - USE)] * 4).rates.pipes
        for times in (1.15, 3.4)
    )
    before, *means = (
        sum(weight * times for weight, times in zip(pipes, PIPE_TIMES, strict=True))
        for pipes in (pipe_prior(), thin, wide)
    )
    assert means[0] < before - 0.3 < before + 0.3 < means[1]


def test_when_the_water_came_back_may_be_any_part_of_the_time_since_dry_taps():
    """In twelve parts, less likely the further from eight hours: log-normal, sd 1.2, over the time itself."""
    rises = rises_since_dry(900.0, 0.0, T0, T0 + timedelta(days=1), UTC)
    assert [fill.days for _, fill in rises] == pytest.approx([1 - (part + 0.5) / 12 for part in range(12)])
    assert {fill.litres for _, fill in rises} == {900.0}
    (first, _), (later, _) = rises[1], rises[9]
    off = (math.log(3 / 8) / 1.2) ** 2 - (math.log(19 / 8) / 1.2) ** 2
    assert first / later == pytest.approx(19 / 3 * math.exp(-off / 2))


def test_of_two_times_that_a_fill_may_have_taken_the_one_that_fits_the_figure_counts():
    """2000 a day by the one, 500 by the other, with a figure of 2000: hardly moved; alone, the slow one moves it far."""
    fast, slow = (Fill(litres=1000, days=days, used_days=days, above_l=0) for days in (0.5, 2.0))
    both, alone = (
        mean_of(source_seen(flow_prior(True), fills, 2000.0, 1e-6))
        for fills in ([(1.0, fast), (1.0, slow)], [(1.0, slow)])
    )
    assert abs(both) < 0.15 and alone < math.log(0.5)
