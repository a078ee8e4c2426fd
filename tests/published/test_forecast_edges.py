"""The edges and the likely time of one explanation alone are the published quantiles of its log-normal; how forecasts are scored."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.water.dry_time import Part, dry_times, left
from gateway.water.evidence import Clock
from tests.hydrology.scores import pinball

BEGAN = datetime(2026, 6, 1, tzinfo=UTC)
DAY = timedelta(days=1)


def lasts(median, sigma):
    """A draw by the clock of which the water lasts so many days, by half."""
    return [Part(kind="supply-stopped", weight=1.0, days=median, spread=sigma, by_clock=1.0, since=BEGAN)]


@pytest.mark.parametrize(
    ("median", "sigma", "tenth", "ninetieth"), [(100, 0.5, 52.688, 189.795), (400, 0.35, 255.423, 626.412)]
)
def test_the_edges_are_the_tenth_and_the_ninetieth_percentile(median, sigma, tenth, ninetieth):
    """Log-normal 10, 50 and 90 % (scipy; stats_more.csv), in hundredths of a day."""
    times = dry_times(lasts(median / 100, sigma), BEGAN, BEGAN, Clock(UTC))
    assert [(at - BEGAN) / DAY * 100 for at in times] == pytest.approx([tenth, median, ninetieth], abs=0.02)


def test_what_is_left_is_what_the_same_quantiles_leave():
    """After the day that it lasts by half, the slower tenth has used 1/1.89795 of the water: 473 of 1000 l are left at most."""
    found = left(lasts(1.0, 0.5), 1000.0, BEGAN + DAY, Clock(UTC))
    assert (found.low, found.likely) == pytest.approx((0.0, 0.0), abs=0.2)
    assert found.high == pytest.approx(1000 * (1 - 1 / 1.89795), abs=0.2)


@pytest.mark.parametrize(("true", "alpha", "score"), [(12, 0.1, 23), (7, 0.1, 23), (9, 0.1, 3), (14, 0.2, 33)])
def test_the_interval_score_is_the_sum_of_two_pinball_losses(true, alpha, score):
    """For [8, 11]: 2/alpha times those of its edges (Gneiting and Raftery 2007, eq. 43; figures by scoringrules 0.10.0: stats_more.csv)."""
    edges = pinball(true, 8, alpha / 2) + pinball(true, 11, 1 - alpha / 2)
    assert 2 / alpha * edges == pytest.approx(score)
