"""A gauge's memory moves height by height: the level that counts, low and high with a band, jumps, a stuck gauge, and back."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts.states.controllers_and_tanks import GaugeMemory
from gateway.tanks import GaugeLimits, apply_height, apply_no_height

T0 = datetime(2026, 3, 1, 4, 11, tzinfo=UTC)
HOUR = timedelta(hours=1)
LIMITS = GaugeLimits(low_m=0.5, high_m=1.7, band_m=0.1, height_m=2.0, capacity_l=4000, use_l_day=480, flow_l_day=960)
"""Two metres hold 4,000 l: the house draws 0.01 m an hour, house and supply move at most 0.02 m an hour."""
BARE = GaugeLimits(low_m=0.5, high_m=0, band_m=0.1)


def lived(heights, limits=LIMITS, every=HOUR, memory=None):
    """The steps that these heights make, one each `every`."""
    memory, steps = memory or GaugeMemory(), []
    for number, height in enumerate(heights):
        steps.append(apply_height(memory, height, T0 + number * every, limits))
        memory = steps[-1].memory
    return steps


def test_litres_per_metre_need_height_and_capacity():
    """Where one of them is not known there is no such figure."""
    assert LIMITS.litres_per_m == 2000
    assert BARE.litres_per_m is None and replace(LIMITS, capacity_l=None).litres_per_m is None


@pytest.mark.parametrize(
    ("heights", "levels"),
    [
        ([1.0, 1.05], [1.0, 1.05]),  # three times the usual flow and a wobble of 2 % of the height: 0.06 + 0.04 m
        ([1.0, 1.1], [1.0, 1.1]),
        ([1.0, 1.15, 1.0], [1.0, 1.15, 1.0]),  # of two the newer, for nobody can say which is the odd one
        ([1.0, 1.0, 1.15, 1.0], [1.0, 1.0, 1.0, 1.0]),  # one odd value between its neighbours is taken out
        ([1.0, 1.0, 1.15, 1.16], [1.0, 1.0, 1.0, 1.15]),  # an edge is kept: the middle of the last three
        ([1.0, 1.0, 0.85, 0.84], [1.0, 1.0, 1.0, 0.85]),
    ],
)
def test_the_level_that_counts(heights, levels):
    """The newest where house and supply can have done it, else the middle of the last three."""
    steps = lived(heights)
    assert [step.memory.level_m for step in steps] == pytest.approx(levels)
    assert not any(step.fault for step in steps)
    assert steps[-1].memory.recent == tuple(heights[-3:])


def test_how_far_the_usual_goes_grows_with_the_time_between():
    """A tenth of a metre and more in an hour waits for the next; the same in ten hours is taken at once."""
    hourly, slowly = lived([1.0, 1.0, 1.2]), lived([1.0, 1.0, 1.2], every=10 * HOUR)
    assert hourly[-1].memory.level_m == 1.0 and slowly[-1].memory.level_m == 1.2
    assert lived([1.0, 1.0, 1.019], BARE)[-1].memory.level_m == 1.019
    assert lived([1.0, 1.0, 1.03], BARE, every=100 * HOUR)[-1].memory.level_m == 1.0


@pytest.mark.parametrize(
    ("heights", "switches"),
    [
        ([0.6, 0.5, 0.49], [["low-over", "high-over"], [], ["low"]]),
        ([0.49, 0.55, 0.59, 0.6], [["low", "high-over"], [], [], ["low-over"]]),
        ([1.7, 1.71, 1.65, 1.61, 1.6], [["low-over", "high-over"], ["high"], [], [], ["high-over"]]),
    ],
)
def test_low_and_high_with_a_band(heights, switches):
    """Below its limit low, above it high; over only once it came back by the whole band."""
    assert [[name for name, _ in step.switches] for step in lived(heights)] == switches


def test_a_switch_tells_since_when_it_was_otherwise():
    """Nothing for the first that is known; then when the side before began."""
    first, _, low, _, over = lived([0.6, 0.55, 0.46, 0.53, 0.61])
    assert first.switches == (("low-over", None), ("high-over", None))
    assert low.switches == (("low", T0),) and (low.memory.low, low.memory.low_since) == (True, T0 + 2 * HOUR)
    assert over.switches == (("low-over", T0 + 2 * HOUR),) and over.memory.low is False
    high = lived([1.65, 1.75])[-1]
    assert high.switches == (("high", T0),) and (high.memory.high, high.memory.high_since) == (True, T0 + HOUR)


def test_a_limit_of_nothing_is_never_passed():
    """0: nobody asks, and nothing is remembered of it."""
    memory = lived([0.6, 0.1, 2.0], replace(LIMITS, low_m=0, high_m=0), every=100 * HOUR)[-1].memory
    assert memory.low is None and memory.high is None


@pytest.mark.parametrize(
    ("limits", "moved", "minutes", "jumped"),
    [
        (LIMITS, 0.19, 0.1, False),  # less than a tenth of the height is a wobble, however fast
        (LIMITS, 0.21, 0.1, True),
        (LIMITS, 0.9, 1.85, False),  # 1,000 l a minute are half a metre of this tank
        (LIMITS, 0.9, 1.75, True),
        (LIMITS, -0.9, 1.75, True),
        (BARE, 0.09, 0.1, False),
        (BARE, 0.9, 1.85, False),  # where no shape is known: half a metre a minute
        (BARE, 0.9, 1.75, True),
        (replace(LIMITS, capacity_l=8000), 0.9, 3.5, True),  # a wider tank moves more slowly
        (replace(LIMITS, capacity_l=8000), 0.9, 3.7, False),
    ],
)
def test_what_no_pipe_can_have_done_is_a_jump(limits, moved, minutes, jumped):
    """It is not taken: the level stays, and what it read is kept to be held against the next."""
    before = lived([1.0, 1.0, 1.0], limits)[-1].memory
    at = T0 + 2 * HOUR + timedelta(minutes=minutes)
    step = apply_height(before, 1.0 + moved, at, limits)
    assert (step.fault == "jump") == jumped == (step.memory.fault == "jump")
    if jumped:
        assert (step.memory.level_m, step.memory.at, step.memory.recent) == (1.0, before.at, before.recent)
        assert (step.memory.candidate, step.memory.candidate_at, step.memory.believable) == (1.0 + moved, at, 1)
        assert step.memory.fault_since == at and step.switches == ()


def test_two_texts_of_one_second_are_held_against_a_second():
    """No time between them is no division by nothing, and still a jump."""
    before = lived([1.0])[-1].memory
    assert apply_height(before, 0.5, T0, LIMITS).fault == "jump"


def test_the_first_height_is_no_jump():
    """Nothing is known that it could have jumped from."""
    assert lived([1.9])[0].fault is None


def test_after_a_jump_two_that_agree_are_believed():
    """One says nothing; the second at the same place ends the fault and counts, with its switches."""
    before = lived([1.0, 1.0])[-1].memory
    jump, well, _ = lived([0.2, 0.22, 0.23], every=timedelta(minutes=1), memory=replace(before, at=T0))
    assert jump.fault == "jump" and not jump.well
    assert well.well and well.memory.fault == "" and well.memory.fault_since is None
    assert well.memory.level_m == 0.22 and [name for name, _ in well.switches] == ["low"]
    assert (well.memory.believable, well.memory.candidate, well.memory.candidate_at) == (0, None, None)
    assert well.memory.recent == (0.22,)


def test_after_a_jump_what_jumps_on_is_not_believed():
    """Each that does not fit the one before begins anew; the first two that fit end it."""
    before = lived([1.0, 1.0])[-1].memory
    steps = lived([0.2, 1.9, 0.2, 1.9, 1.89], every=timedelta(minutes=1), memory=replace(before, at=T0))
    assert [step.well for step in steps] == [False, False, False, False, True]
    assert [step.memory.believable for step in steps] == [1, 1, 1, 1, 0]
    assert steps[3].memory.level_m == 1.0 and steps[4].memory.level_m == 1.89


@pytest.mark.parametrize("why", ["signal", "range"])
def test_what_can_be_no_height_is_a_fault_until_two_are_believable(why):
    """Told once; while it lasts another one wipes what was believable."""
    memory = lived([1.0])[-1].memory
    fault = apply_no_height(memory, why, T0 + HOUR)
    assert fault.fault == why == fault.memory.fault and fault.memory.fault_since == T0 + HOUR
    first = apply_height(fault.memory, 1.0, T0 + 2 * HOUR, LIMITS)
    assert not first.well and first.memory.believable == 1 and first.fault is None
    again = apply_no_height(first.memory, why, T0 + 3 * HOUR)
    assert again.fault is None and (again.memory.believable, again.memory.candidate) == (0, None)
    assert again.memory.candidate_at is None and again.memory.fault_since == T0 + HOUR
    one = apply_height(again.memory, 1.0, T0 + 4 * HOUR, LIMITS)
    assert not one.well and apply_height(one.memory, 1.0, T0 + 5 * HOUR, LIMITS).well


def still(times, height=1.0, limits=LIMITS, every=timedelta(hours=12)):
    return lived([height] * times, limits, every)


def test_a_gauge_that_never_moves_while_the_house_draws_is_stuck():
    """0.1 m of 2 m need ten hours of draw at 480 l a day of 4,000 l: twenty hours; 24 h at least; four readings at least."""
    assert [step.fault for step in still(4)] == [None, None, None, "stuck"]
    assert [step.fault for step in still(4, every=timedelta(hours=8))] == [None, None, None, "stuck"]
    assert [step.fault for step in still(4, every=timedelta(hours=7))] == [None] * 4
    assert [step.fault for step in still(3, every=timedelta(days=5))] == [None] * 3
    assert [step.fault for step in still(4, limits=replace(LIMITS, use_l_day=250))] == [None] * 3 + [None]
    assert [step.fault for step in still(5, limits=replace(LIMITS, use_l_day=200))] == [None] * 4 + ["stuck"]


@pytest.mark.parametrize(
    ("height", "limits"),
    [
        (0.0, LIMITS),
        (1.7, LIMITS),  # at its own high limit: it overflows
        (1.9, replace(LIMITS, high_m=0)),  # at 95 % of its height
        (1.0, replace(LIMITS, capacity_l=None)),
        (1.0, replace(LIMITS, height_m=None)),
        (1.0, replace(LIMITS, use_l_day=0)),
    ],
)
def test_where_standing_still_says_nothing(height, limits):
    """Empty, overflowing, of unknown size, or nobody draws."""
    assert not any(step.fault for step in still(9, height, limits))


def test_just_below_the_top_it_can_be_stuck():
    """94 % of the height is not yet the overflow; nor is a hair under the high limit."""
    assert still(9, 1.88, replace(LIMITS, high_m=0))[3].fault == "stuck"
    assert still(9, 1.69)[3].fault == "stuck"


def test_a_stuck_gauge_is_well_with_the_first_move():
    """While it stands nothing is said again; what moves counts at once."""
    stuck = still(5)
    assert [step.fault for step in stuck] == [None, None, None, "stuck", None] and not stuck[4].well
    assert stuck[4].memory.same_times == 5 and stuck[4].memory.same_since == T0
    moved = apply_height(stuck[4].memory, 0.97, T0 + timedelta(days=3), LIMITS)
    assert moved.well and moved.memory.level_m == 0.97 and moved.memory.same_times == 1
    assert (moved.memory.same_height, moved.memory.same_since) == (0.97, T0 + timedelta(days=3))
