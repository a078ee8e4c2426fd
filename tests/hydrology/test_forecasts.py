"""Forecasts and causes held to simulated supplies, with the household's own figure right and off by a third."""

import statistics

import pytest

from tests.hydrology.measure import Score, measure, measure_any, share


def held_to_the_aim(*scores: dict[str, Score]) -> None:
    """Over 200 episodes: 65 to 95 % inside the 80 % interval, a median factor of at most 1.6, causes right at least 70 %."""
    total = Score()
    for found in scores:
        for one in found.values():
            total.add(one)
    assert len(total.dry_inside) >= 200
    assert 0.65 <= share(total.dry_inside) <= 0.95
    assert 0.65 <= share(total.full_inside) <= 0.97
    assert statistics.median(total.dry_factor) <= 1.6 and statistics.median(total.full_factor) <= 1.6
    assert share(total.right) >= 0.70


def test_forecasts_are_honest_and_causes_right():
    """Four supplies that are known, and twenty of any kind."""
    held_to_the_aim(measure(9), measure_any(20))


@pytest.mark.soak
def test_any_supply():
    """A hundred supplies of any kind alone."""
    held_to_the_aim(measure_any(100))
