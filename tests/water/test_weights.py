"""How likely an explanation is by what was told: a text that it does not expect, and an interval that it takes for longer than it was."""

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from gateway.water.chain import Chain, Mark
from gateway.water.evidence import Clock, weigh
from gateway.water.explanations import NEVER, PIPE_TIMES, Explanation
from gateway.water.flow_belief import NODES
from gateway.water.use_belief import UseBelief
from tests.hydrology.measure import WORLDS, events_told
from tests.hydrology.supply import settings_of, simulate
from tests.water.learn_anew import learn

NOW = datetime(2026, 11, 25, tzinfo=UTC)
DAY = timedelta(days=1)


def mark(stage, days_ago):
    """A level of that stage, told so long ago."""
    return Mark(tank=f"tank {stage}", stage=stage, kind="low", drained_l=100.0, seen_at=NOW - days_ago * DAY)


def weights(marks, *days):
    """Of explanations that are as likely before: when each expects the marks, of a draw by the clock."""
    found = [
        Explanation(kind="heavy-draw", prior=1 / len(days), days=expected, by_clock=1.0, missing=0) for expected in days
    ]
    chain = Chain(holds_l=(1000.0, 1000.0), guessed=(False, False), marks=tuple(marks))
    return [candidate.weight for candidate in weigh(chain, found, UseBelief(), NOW, Clock(UTC))]


def test_a_text_that_an_explanation_does_not_expect_was_of_any_time():
    """A text lost or a float stuck, one in twenty-five, at any time within a factor of twenty: a sixth of that."""
    expected, never = weights([mark(1, 1)], (1.0,), (NEVER,))
    assert never / expected == pytest.approx(0.04 / 6)


def test_what_a_pipe_brings_from_above_is_less_surely_reckoned():
    """Two explanations, one right, one off by a half: it is less out of the question where a pipe's unknown flow stands between the two."""
    right, wrong = (0.5, 1.5), (0.5, 2.0)
    within = weights([mark(1, 1), mark(1, 0)], right, wrong)
    between = weights([mark(0, 1), mark(1, 0)], right, wrong)
    assert between[1] / between[0] > 2 * within[1] / within[0]


@pytest.mark.parametrize("power", range(6))
def test_three_points_have_the_moments_of_a_normal(power):
    """1, 0, 1, 0, 3, 0 (Abramowitz and Stegun 25.4.46)."""
    exact = (1, 0, 1, 0, 3, 0)[power]
    assert sum(weight * at**power for at, weight in NODES) == pytest.approx(exact, abs=1e-3)


@pytest.mark.parametrize("times", [1.1, 2.0, 3.0])
def test_what_a_pipe_passes_is_learnt_within_an_eighth(times):
    """Eight troubles of three tanks in a row: P over S, which is no setting of the household's file."""
    world = replace(WORLDS["three in a row, thin pipe"], pipe=times * WORLDS["three in a row, thin pipe"].inflow)
    story = simulate(world, 25, 8)
    learnt = learn(events_told(story, story.episodes[-1].began, True), settings_of(world, 1.0), UTC)
    mean = sum(weight * point for weight, point in zip(learnt.rates.pipes, PIPE_TIMES, strict=True))
    assert abs(math.log(mean / times)) < 0.125
