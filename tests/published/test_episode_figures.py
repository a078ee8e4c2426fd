"""How often and how long, against published examples of the gamma, Poisson, exponential and product-limit figures."""

import pytest

from gateway.water.episode_figures import Gamma, exact_interval, median_lasting, survival

SIX_MP_WEEKS = (6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35)
SIX_MP_OVER = (1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0)
"""Remission under 6-MP, weeks (Freireich 1963, from memory); 1: a relapse was seen."""


def test_product_limit_small():
    """1 1 4 5 6+ 9 9+ 22 days: .750 .625 .500 .333 0 (Bewick 2004; lifelines 0.30.3 gives the same)."""
    steps = survival((1, 1, 4, 5, 6, 9, 9, 22), (True, True, True, True, False, True, False, True))
    assert [time for time, _ in steps] == [1, 4, 5, 9, 22]
    assert [share for _, share in steps] == pytest.approx([0.75, 0.625, 0.5, 1 / 3, 0.0], abs=1e-3)


def test_product_limit_six_mp():
    """S(t) at 6 7 10 13 16 22 23 weeks and the median of 23 (textbook; reproduced by lifelines)."""
    steps = survival(SIX_MP_WEEKS, [bool(over) for over in SIX_MP_OVER])
    assert [time for time, _ in steps] == [6, 7, 10, 13, 16, 22, 23]
    assert [share for _, share in steps] == pytest.approx([0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448], abs=1e-3)
    assert median_lasting(steps) == 23


def test_exponential_rate():
    """6-MP: 9 relapses in 359 weeks are 0.02507 a week (lifelines ExponentialFitter)."""
    assert sum(SIX_MP_WEEKS) == 359
    assert sum(SIX_MP_OVER) / sum(SIX_MP_WEEKS) == pytest.approx(0.02507, abs=1e-5)


def test_exponential_interval():
    """n = 45, 80 %: the mean between 83.606 and 122.711, the rate between .0081492 and .0119609 (published worked example X4)."""
    exposure = 107.5650 / 2 / 0.0119609
    belief = Gamma(shape=45, rate=exposure)
    assert belief.quantile(0.1) == pytest.approx(0.0081492, rel=1e-4)
    assert belief.quantile(0.9) == pytest.approx(0.0119609, rel=1e-4)
    assert (1 / belief.quantile(0.9), 1 / belief.quantile(0.1)) == pytest.approx((83.606, 122.711), rel=1e-4)


@pytest.mark.parametrize(
    "count, low, high",
    [
        (0, 0, 3.6889),
        (1, 0.0253, 5.5716),
        (2, 0.2422, 7.2247),
        (3, 0.6187, 8.7673),
        (5, 1.6235, 11.6683),
        (10, 4.7954, 18.3904),
    ],
)
def test_poisson_exact(count, low, high):
    """The exact 95 % interval of a Poisson mean (stats_reference.csv, computed with scipy)."""
    assert exact_interval(count, 0.95) == pytest.approx((low, high), abs=1e-4)


@pytest.mark.parametrize(
    "shape, rate, mean, sd, low, high",
    [
        (21, 6, 3.5, 0.7638, 2.1666, 5.1481),
        (67, 3, 22.3333, 2.7285, 17.3080, 27.9894),
        (6, 7, 0.8571, 0.3499, 0.3146, 1.6669),
        (33, 25, 1.32, 0.2298, 0.9086, 1.8070),
    ],
)
def test_gamma_posteriors(shape, rate, mean, sd, low, high):
    """Gamma posteriors with their 95 % intervals (stats_reference.csv, computed with scipy)."""
    belief = Gamma(shape=shape, rate=rate)
    assert (belief.mean, belief.sd) == pytest.approx((mean, sd), abs=1e-4)
    assert (belief.quantile(0.025), belief.quantile(0.975)) == pytest.approx((low, high), abs=1e-4)


def test_gamma_updates():
    """Gamma(10, 2) after 6, 2, 2, 1 (published example X2); counts 20, 24, 23 in turn (X3); BDA3's asthma (from memory)."""
    belief = Gamma(shape=10, rate=2)
    for count in (6, 2, 2, 1):
        belief = belief.seen(count, 1)
    assert (belief.shape, belief.rate) == (21, 6)
    means = [
        Gamma(shape=20, rate=1),
        Gamma(shape=20, rate=1).seen(24, 1),
        Gamma(shape=20, rate=1).seen(24, 1).seen(23, 1),
    ]
    assert [mean.mean for mean in means] == pytest.approx([20, 22, 22.33], abs=0.01)
    asthma = Gamma(shape=3, rate=5).seen(3, 2)
    assert (asthma.mean, 1 - asthma.below(1.0)) == pytest.approx((0.857, 0.301), abs=1e-3)
    ten_years = Gamma(shape=3, rate=5).seen(30, 20)
    assert (ten_years.mean, 1 - ten_years.below(1.0)) == pytest.approx((1.32, 0.929), abs=1e-3)
