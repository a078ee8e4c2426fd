"""Gauges, nights, frost and herds against published figures; the project's sheet of check values names the sources.

NE 43: NAMUR NE 43 as described by three suppliers of instruments. Medians: numpy. Freezing: B1, B2, B4 (see test_power_battery). Night
flow: after McKenzie 1999 (SANFLOW) as cited in a Water Supply paper. Livestock by temperature: after NRC 1996 (W7).
"""

from itertools import pairwise
from statistics import median

import pytest

from gateway.power.freezing import ROWS, freezing_row, freezing_row_at
from gateway.settings.water_tables import Animals, Gauge, UprightCylinder
from gateway.water.demand import head_l_day
from gateway.water.gauge_heights import height_of
from gateway.water.night_flow import FLUSH_L_H


def loop(low_m, high_m):
    """A current loop over that range of heights, in a tank of that height."""
    points = ((4.0, low_m), (20.0, high_m))
    shape = UprightCylinder(kind="upright-cylinder", diameter_m=2.0, height_m=high_m)
    return Gauge(controller="ridge", input="L1", reads="mA", points=points), shape


@pytest.mark.parametrize(
    ("signal", "height"),
    [(4, 0.0), (8, 0.5), (12, 1.0), (16.8, 1.6), (20, 2.0), (3.8, -0.025), (20.5, 2.0625)],
)
def test_a_current_loop_is_scaled(signal, height):
    """value = lo + (hi - lo)(I - 4)/16, also between 3.8 and 4 and between 20 and 20.5 mA."""
    assert height_of(*loop(0.0, 2.0), signal) == pytest.approx(height, abs=1e-9)


def test_a_current_loop_from_another_zero():
    """12 mA on 0.5 to 3.5 m are 2 m."""
    assert height_of(*loop(0.5, 3.5), 12) == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("signal", "what"),
    [(0, "signal"), (3.5, "signal"), (3.6, "signal"), (3.7, "held"), (20.8, "held"), (21.0, "signal"), (22, "signal")],
)
def test_ne_43_bounds(signal, what):
    """3.6 mA and less, 21 mA and more: a fault; between fault and signal neither: the last state holds."""
    assert height_of(*loop(0.0, 2.0), signal) == what


def test_the_median_of_three_takes_out_single_values_and_keeps_an_edge():
    """The row of the sheet, from its second value on: two values of 1.6 pass a window of three."""
    read = [1.00, 1.02, 1.75, 1.01, 1.03, 0.20, 1.02, 1.04, 1.60, 1.62, 1.05]
    middles = [median(read[at - 1 : at + 2]) for at in range(1, len(read) - 1)]
    assert middles == [1.02, 1.02, 1.03, 1.01, 1.02, 1.02, 1.04, 1.60, 1.60]


@pytest.mark.parametrize(
    ("gravity", "celsius"),
    [(1.28, -67.8), (1.25, -52), (1.22, -36), (1.19, -24), (1.16, -17), (1.13, -12), (1.10, -7), (1.05, -2.8)],
)
def test_each_row_freezes_where_it_stands(gravity, celsius):
    """By its own rest voltage, 6 · (SG + 0.84), of 12 and of 24 V."""
    row = freezing_row(6 * (gravity + 0.84), 12)
    assert (row.gravity, row.celsius) == (gravity, celsius)
    assert freezing_row(12 * (gravity + 0.84), 24) == row


def test_between_two_rows_the_weaker_one_counts():
    """A battery that is told to be safe at -12 C must not freeze at -7 C; and charge never makes it warmer."""
    for weaker, stronger in pairwise(ROWS):
        assert freezing_row((weaker.rest_v_12 + stronger.rest_v_12) / 2, 12) == weaker
        assert weaker.celsius > stronger.celsius
    freezes = [freezing_row_at(percent).celsius for percent in range(0, 101, 5)]
    assert freezes == sorted(freezes, reverse=True) and freezes[0] == -2.8


def test_more_than_a_house_uses_by_night_is_asked_for():
    """Four people: 6 % awake, 10 l each, are 2.4 l an hour; a UK allowance is 1.7 l: a leak is told well above both."""
    assert FLUSH_L_H > 4 * 0.06 * 10 and FLUSH_L_H > 1.7


@pytest.mark.parametrize(
    ("kind", "celsius", "gallons"),
    [("lactating cow", 21.1, 16.3), ("lactating cow", 32.2, 21.6), ("heifer", 26.7, 10.3), ("bull", 32.2, 19.5)],
)
def test_livestock_by_temperature(kind, celsius, gallons):
    """US gallons a day at 70, 80 and 90 F; between them in a straight line."""
    herd = Animals(kind=kind, head=1)
    assert head_l_day(herd, celsius) == pytest.approx(gallons * 3.785411784, rel=1e-6)
    assert head_l_day(herd, 21.1) <= head_l_day(herd, 24.0) <= head_l_day(herd, 32.2)
