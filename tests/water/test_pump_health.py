"""A supply that delivers a quarter less than it did is noticed within some three fills; noise is not."""

import math
import random
import statistics

import pytest

from gateway.water.pump_health import cusum_below, delivered, run_length

USE = 300.0
MONTGOMERY = """\
9.45 7.99 9.29 11.66 12.16 10.18 8.04 11.46 9.20 10.34 9.03 11.47 10.51 9.40 10.08 9.37 10.62 10.31 8.52 10.84 10.90 9.33 12.29 11.50
10.60 11.08 10.38 11.62 11.31 10.52"""
C_MINUS = "0.05 1.56 1.77 0.00 0.00 0.00 1.46 0.00 0.30 0.00 0.47 0.00 0.00 0.10 0.00 0.13 0.00 0.00 0.98 0.00 0.00 0.17 0 0 0 0 0 0 0 0"
N_MINUS = "1 2 3 0 0 0 1 0 1 0 1 0 0 1 0 1 0 0 1 0 0 1 0 0 0 0 0 0 0 0"


def fills(rates):
    """Logs of net litres a day."""
    return [math.log(rate) for rate in rates]


def test_the_sum_is_the_published_one():
    """Montgomery, Introduction to Statistical Quality Control, 7th ed., tables 9.1 and 9.2 (mu 10, K 0.5); the upper sum by what is mirrored."""
    data = [float(value) for value in MONTGOMERY.split()]
    lower = cusum_below(data, 10.0, 0.5)
    assert [total for total, _ in lower] == pytest.approx([float(total) for total in C_MINUS.split()], abs=0.005)
    assert [since for _, since in lower] == [int(since) for since in N_MINUS.split()]
    upper = cusum_below([-value for value in data], -10.0, 0.5)
    assert upper[28] == (pytest.approx(5.28), 7) and upper[29] == (pytest.approx(5.30), 8)


def test_its_run_length_is_the_published_one():
    """930 in control for K 0.5 and H 5, one-sided (Montgomery, table 9.3, from memory)."""
    assert run_length(0.5, 5.0) == pytest.approx(930, rel=0.02)


@pytest.mark.parametrize(
    ("rates", "weaker"),
    [
        ([1000] * 12, False),
        ([1000, 1100, 900, 1000, 980, 1020, 950, 1000], False),
        ([1000] * 6 + [500] * 6, True),
        ([1000] * 4 + [500] * 3, True),
        ([1000] * 4 + [500], False),
        ([1000, 950, 900, 850, 700, 600, 500, 400, 300, 300], True),
        ([1000] * 5 + [500] * 4 + [1000] * 3, False),
        ([1000] * 5 + [500] * 4 + [1000], True),
        ([1000] * 5 + [500] * 4 + [1000] * 5 + [500] * 4, True),
        ([1000] * 5 + [1500] * 8, False),
    ],
)
def test_weaker(rates, weaker):
    """By what the later fills lie below the first four, use added; well again once the middle of three is."""
    found = delivered(fills(rates), USE)
    assert found is not None and found.weaker is weaker


def test_what_it_delivered_and_delivers_is_told_in_litres_a_minute():
    """Of the first four, and since the change."""
    found = delivered(fills([1140] * 7 + [420] * 3), USE)
    assert found is not None and (found.first_l_min, found.last_l_min) == (pytest.approx(1.0), pytest.approx(0.5))
    well = delivered(fills([1140] * 7 + [996] * 3), USE)
    assert well is not None and not well.weaker and well.last_l_min == pytest.approx(0.9)


def test_too_few_episodes_say_nothing():
    """Four are held against, so that a fifth is needed."""
    assert delivered([7.0] * 4, USE) is None and delivered([7.0] * 5, USE) is not None


def simulated(seed, before, after, share, scatter):
    """Fills of a supply that delivers 1440 l a day, and from then on that share of it."""
    rng = random.Random(seed)
    flows = [1440 * math.exp(rng.gauss(0, scatter)) for _ in range(before)]
    flows += [share * 1440 * math.exp(rng.gauss(0, scatter)) for _ in range(after)]
    return fills(max(flow - USE, 30) for flow in flows)


def noticed_after(rates, before):
    """How many fills after the change it is said; None: never."""
    return next(
        (n for n in range(1, len(rates) - before + 1) if (f := delivered(rates[: before + n], USE)) and f.weaker), None
    )


@pytest.mark.parametrize(("scatter", "fills_needed", "missed"), [(0.05, 2, 0), (0.1, 3, 2), (0.15, 5, 9)])
def test_a_quarter_less_is_noticed_within_some_three_fills(scatter, fills_needed, missed):
    """The median of sixty supplies. Medians of four fills against four found it after five, and in one supply of seven not at all."""
    found = [noticed_after(simulated(seed, 8, 16, 0.75, scatter), 8) for seed in range(60)]
    assert statistics.median(n if n is not None else 99 for n in found) <= fills_needed
    assert sum(n is None for n in found) <= missed


@pytest.mark.parametrize(("scatter", "at_most"), [(0.05, 1), (0.1, 6), (0.15, 15)])
def test_noise_alone_is_seldom_taken_for_a_loss(scatter, at_most):
    """Forty fills of each of sixty supplies that stay as they are; where fills differ more than is usual it is taken for one more often."""
    wrong = sum(noticed_after(simulated(seed, 44, 0, 1.0, scatter), 4) is not None for seed in range(60))
    assert wrong <= at_most
