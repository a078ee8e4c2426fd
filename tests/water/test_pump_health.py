"""A supply that delivers a quarter less than it did is noticed, slow noise is not."""

import math

import pytest

from gateway.water.pump_health import delivered


@pytest.mark.parametrize(
    ("rates", "weaker"),
    [
        ([1000] * 12, False),
        ([1000, 1100, 900, 1000, 980, 1020, 950, 1000], False),
        ([1000] * 6 + [500] * 6, True),
        ([1000, 950, 900, 850, 700, 600, 500, 400, 300, 300], True),
    ],
)
def test_weaker(rates, weaker):
    """Median of the last four against the first four, use added."""
    found = delivered([math.log(rate) for rate in rates], 300.0)
    assert found is not None and found.weaker is weaker


def test_too_few_episodes_say_nothing():
    """Eight are needed."""
    assert delivered([7.0] * 7, 300.0) is None
