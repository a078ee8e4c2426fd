"""The belief about use and flows: normals in the logarithm, moved by what is seen as the published formulas say, reckoned by hand."""

import math
from statistics import NormalDist

import pytest

from gateway.water.evidence import Weighed
from gateway.water.explanations import Explanation
from gateway.water.flow_belief import FLOW_DRIFT_SD, Fill, fill_days, flow_prior, mean_of, source_seen
from gateway.water.use_belief import DRIFT_SD, SHIFT_SD, SHIFTED, Component, UseBelief, noise_sd, observe
from gateway.water.use_learnt import use_after


def component(mean, sd, weight=1.0):
    """One normal."""
    return Component(weight=weight, mean=mean, sd=sd)


def test_a_normal_is_moved_by_its_share_of_the_precision():
    """BDA3 2.11 and 2.12: prior N(0, 0.3), seen 0.4 with 0.4: mean 0.4 x 0.09/0.25 = 0.144, sd 0.3 x 0.4/0.5 = 0.24; N(0.4; 0, 0.5)."""
    likely, (after,) = observe([component(0.0, 0.3)], 0.4, 0.4)
    assert (after.weight, after.mean, after.sd) == (1.0, pytest.approx(0.144), pytest.approx(0.24))
    assert likely == pytest.approx(NormalDist(0, 0.5).pdf(0.4))


def test_of_two_normals_the_one_that_expected_it_gains():
    """By Bayes: weights 0.5 N(0, 0.3) and 0.5 N(1, 0.3), seen 1.0 with 0.4: N(1; 0, 0.5) = 0.108 to N(1; 1, 0.5) = 0.798."""
    likely, after = observe([component(0.0, 0.3, 0.5), component(1.0, 0.3, 0.5)], 1.0, 0.4)
    assert likely == pytest.approx((0.10798 + 0.79788) / 2, abs=1e-4)
    assert [part.weight for part in after] == pytest.approx([0.1192, 0.8808], abs=1e-4)
    assert [part.mean for part in after] == pytest.approx([0.36, 1.0])


def test_the_moments_of_a_mixture():
    """By hand: 0.8 N(0, 0.3) and 0.2 N(1, 0.5): mean 0.2, variance 0.8 x (0.09 + 0.04) + 0.2 x (0.25 + 0.64) = 0.282."""
    belief = UseBelief(usual=(component(0.0, 0.3, 0.8), component(1.0, 0.5, 0.2)))
    assert (belief.mean, belief.sd) == (pytest.approx(0.2), pytest.approx(math.sqrt(0.282)))


@pytest.mark.parametrize("quantile", [0.1, 0.5, 0.9])
def test_a_day_that_is_not_exceeded_with_that_probability(quantile):
    """One normal of sd 0.2: with the drift of 0.10 and days that differ by 0.28, sd 0.358; the normal quantile of that."""
    belief = UseBelief(usual=(component(0.3, 0.2),))
    sd = math.sqrt(0.2**2 + 0.10**2 + 0.28**2)
    assert belief.of_a_day(quantile) == pytest.approx(NormalDist(0.3, sd).inv_cdf(quantile), abs=1e-3)


def test_an_episode_is_as_usual_or_shifted():
    """85 % with the ordinary drift, 15 % with guests or an empty house, around the same mean."""
    usual, shifted = UseBelief(usual=(component(0.3, 0.2),)).in_an_episode()
    assert (usual.weight, shifted.weight) == (pytest.approx(0.85), pytest.approx(0.15))
    assert usual.sd == pytest.approx(math.hypot(0.2, 0.10)) and shifted.sd == pytest.approx(
        math.sqrt(0.04 + 0.01 + 0.36)
    )
    assert usual.mean == shifted.mean == 0.3


@pytest.mark.parametrize(
    ("days", "scatter", "sd"),
    [
        # 0.06² + 0.8² x (0.28²/4 + 0.35²/33)
        (4.0, 1.0, math.sqrt(0.0036 + 0.64 * (0.0196 + 0.0037121))),
        # part of a day is one day's draw: 0.06² + 0.8² x 4 x (0.28² + 0.35²/3)
        (0.25, 2.0, math.sqrt(0.0036 + 0.64 * 4 * (0.0784 + 0.0408333))),
    ],
)
def test_how_far_some_days_may_be_off(days, scatter, sd):
    """By hand: the float, the days, the hours."""
    assert noise_sd(days, scatter) == pytest.approx(sd, rel=1e-5)


def seen(weight, *ratios):
    """An explanation, believed so much, that takes these ratios of use from what was told."""
    explanation = Explanation(kind="supply-stopped", prior=1.0, days=(), missing=None, pipe=0, by_clock=0.0, edge=0)
    return Weighed(explanation=explanation, weight=weight, use=(), seen=ratios)


def test_the_usual_use_after_an_episode_that_one_explanation_tells_of():
    """By hand, moments matched: N(0, 0.3) sees 0.2 with 0.1, as usual (drift 0.10) or shifted (0.60)."""
    (after,) = use_after(UseBelief(usual=(component(0.0, 0.3),)), [seen(1.0, (0.2, 0.1))]).usual
    parts = []
    for share, drift in ((1 - SHIFTED, DRIFT_SD), (SHIFTED, SHIFT_SD)):
        noise = 0.1**2 + drift**2
        gain = 0.09 / (0.09 + noise)
        parts.append((share * NormalDist(0, math.sqrt(0.09 + noise)).pdf(0.2), gain * 0.2, 0.09 * (1 - gain)))
    total = sum(weight for weight, _, _ in parts)
    mean = sum(weight * mean for weight, mean, _ in parts) / total
    variance = sum(weight * (var + (each - mean) ** 2) for weight, each, var in parts) / total
    assert (after.weight, after.mean, after.sd) == (1.0, pytest.approx(mean), pytest.approx(math.sqrt(variance)))


def test_two_ratios_of_one_episode_count_by_their_precision():
    """0.2 with 0.1 and 0.5 with 0.2 are one: 0.26 with 0.0894."""
    prior = UseBelief(usual=(component(0.0, 0.3),))
    (both,) = use_after(prior, [seen(1.0, (0.2, 0.1), (0.5, 0.2))]).usual
    (one_ratio,) = use_after(prior, [seen(1.0, (0.26, math.sqrt(1 / 125)))]).usual
    assert (both.mean, both.sd) == (pytest.approx(one_ratio.mean), pytest.approx(one_ratio.sd))


def test_an_explanation_that_is_half_believed_teaches_half():
    """The other half of the belief stays where it was: the mean moves by half as much."""
    prior = UseBelief(usual=(component(0.0, 0.3),))
    (whole,), (half,) = (use_after(prior, [seen(weight, (0.2, 0.1))]).usual for weight in (1.0, 0.5))
    assert half.mean == pytest.approx(whole.mean / 2) and half.sd > whole.sd
    assert use_after(prior, [seen(1.0)]).usual == prior.usual


def test_how_days_differ_is_learnt_from_how_far_off_they_were():
    """By hand: four cases of scatter 1; one ratio 0.3 off where 0.1² + 0.2² + 0.1² was thought: square 1.5, so (4 + 1.5)/5."""
    belief = UseBelief(usual=(component(0.0, 0.2),))
    after = use_after(belief, [seen(1.0, (0.3, 0.1))])
    assert (after.scatter, after.scatter_cases) == (pytest.approx(math.sqrt(5.5 / 5)), 5.0)
    far = use_after(belief, [seen(1.0, (3.0, 0.1))])
    assert far.scatter == pytest.approx(math.sqrt((4 + 6) / 5))


@pytest.mark.parametrize(
    ("litres", "source", "pipe", "use", "above", "days"),
    [
        # the source alone: 1000 / (800 - 300)
        (1000, 800, 5000, 300, 0, 2.0),
        # 2000 above go at 1500 - 800 a day for 2.857 days, in which 1200 a day are gained: 1000 / 1200
        (1000, 800, 1500, 300, 2000, 1000 / 1200),
        # 700 above for a day, 1200 gained; the other 800 at 500 a day
        (2000, 800, 1500, 300, 700, 1 + 800 / 500),
        # a pipe that passes no more than the source gives brings nothing sooner
        (1000, 800, 700, 300, 5000, 2.0),
        # hardly more than is used: a tenth of what comes is taken to be left
        (100, 800, 5000, 790, 0, 100 / 80),
    ],
)
def test_days_until_so_many_litres_have_come(litres, source, pipe, use, above, days):
    """By hand, in litres a day."""
    assert fill_days(litres, source, pipe, use, above) == pytest.approx(days)


def test_a_fill_moves_what_the_source_is_believed_to_give():
    """By hand: 1000 l in two days with 300 used a day: 800 came; the figure of 1000, its drift, and how sure the fill is."""
    seen = [(1.0, Fill(litres=1000, days=2, used_days=2, above_l=0))]
    (after,) = source_seen([component(0.0, 0.2)], seen, 1000.0, 300.0)
    before, noise = 0.2**2 + FLOW_DRIFT_SD**2, 0.05**2 + (0.3 * 300 / 800) ** 2 / 2
    assert after.mean == pytest.approx(math.log(0.8) * before / (before + noise))
    assert after.sd == pytest.approx(math.sqrt(before * noise / (before + noise)))


def test_what_is_thought_of_a_source_at_first():
    """A figure is right within a fifth, one in five off by two and more; without a figure it is wide."""
    figure, far_off = flow_prior(True)
    assert (figure.weight, figure.sd, far_off.weight, far_off.sd) == (0.8, 0.2, 0.2, 0.8)
    assert [(part.weight, part.sd) for part in flow_prior(False)] == [(1.0, 0.5)]
    assert mean_of([component(0.1, 1, 0.25), component(0.5, 1, 0.75)]) == pytest.approx(0.4)
