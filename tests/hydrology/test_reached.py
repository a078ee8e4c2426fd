"""Where something that only grows comes to a value, against closed forms and against bisection."""

import math

import pytest

from gateway.water.bisection import reached

CLOSE = 1e-9


def bisected(grows, wanted, low, high):
    """The plain way, and how many looks it takes."""
    looks = 0
    while high - low > 2 * CLOSE:
        middle = (low + high) / 2
        looks += 1
        low, high = (middle, high) if grows(middle) < wanted else (low, middle)
    return (low + high) / 2, looks


GROWING = [
    (lambda x: x**3, 8.0, 2.0),
    (lambda x: math.log1p(x), 1.0, math.e - 1),
    (lambda x: 0.5 * (1 + math.erf((math.log(x) - 1) / 0.3 / math.sqrt(2))) if x > 0 else 0.0, 0.5, math.e),
    (lambda x: float(x >= 3.25), 0.5, 3.25),
    (lambda x: x if x < 1 else 1 + 1000 * (x - 1), 501.0, 1.5),
]


@pytest.mark.parametrize(("grows", "wanted", "place"), GROWING)
def test_the_place_is_found_with_at_most_a_few_looks_more_than_bisection(grows, wanted, place):
    """Closed forms: a cube root, e, the median of a log-normal, a step, a bend. The two ends are looked at once each."""
    looks = 0

    def counted(x):
        nonlocal looks
        looks += 1
        return grows(x)

    assert reached(counted, wanted, 0.0, 400.0, CLOSE) == pytest.approx(place, abs=2 * CLOSE)
    assert looks <= bisected(grows, wanted, 0.0, 400.0)[1] + 4


def test_a_smooth_curve_takes_half_the_looks():
    """That is what it is for."""
    looks = []
    reached(lambda x: looks.append(x) or x**3, 8.0, 0.0, 4.0, CLOSE)
    assert len(looks) < bisected(lambda x: x**3, 8.0, 0.0, 4.0)[1] / 2


def test_beyond_the_ends_the_nearer_end():
    """No place in between, no guess."""
    assert reached(lambda x: x, -1.0, 0.0, 1.0, CLOSE) == 0.0
    assert reached(lambda x: x, 2.0, 0.0, 1.0, CLOSE) == 1.0
