"""Pipe friction, natural flow and the speed that carries air, against published tables and examples."""

import math

import pytest

from gateway.settings.models import Settings
from gateway.settings.water_tables import Pipe
from gateway.water.explanations import PIPE_TIMES, pipe_prior, pipes_at
from gateway.water.pipe_flow import (
    carries_air_m_s,
    fills_in,
    friction_factor,
    head_loss_m,
    passes_l_day,
    tightest_l_day,
)
from gateway.water.water_figures import water_report

FRICTION = (
    (0.0204, 0.1, 0.03682, 0.861),
    (0.0204, 0.2, 0.0307, 2.872),
    (0.026, 0.2, 0.03254, 0.905),
    (0.026, 0.4, 0.02741, 3.05),
    (0.0326, 0.4, 0.02883, 1.036),
    (0.0407, 0.5, 0.02875, 0.532),
)
"""Bore (m), flow (l/s), Darcy's f, metres lost in 100 m: package fluids 1.3.1, roughness 0.007 mm, 15 °C (pipe_friction_fluids.csv)."""
LITRES = 1000.0


def speed(inner_m, l_s):
    return l_s / LITRES / (math.pi * inner_m**2 / 4)


@pytest.mark.parametrize(("inner_m", "l_s", "factor", "loss"), FRICTION)
def test_friction_is_that_of_the_published_table(inner_m, l_s, factor, loss):
    """To a hundredth, by the factor and by the loss."""
    v = speed(inner_m, l_s)
    assert friction_factor(v * inner_m / 1.139e-6, 7e-6 / inner_m) == pytest.approx(factor, rel=0.01)
    assert head_loss_m(inner_m, 100, v) == pytest.approx(loss, rel=0.01)


@pytest.mark.parametrize(
    ("l_s", "seconds"),
    [(0.1, 1593), (1.0, 1000), (None, 1000)],
    ids=["pipe_examples.csv: by what comes", "no faster than 0.3 m/s", "what comes is not known"],
)
def test_an_empty_pipe_is_filled_by_what_comes_and_slowly(l_s, seconds):
    """300 m of 26.0 mm."""
    pipe = Pipe.model_validate({"from": "source", "to": "house", "inner_mm": 26, "length_m": 300, "fall_m": 12})
    comes = l_s * 86_400 if l_s is not None else None
    assert fills_in(pipe, comes).total_seconds() == pytest.approx(seconds, rel=1e-3)


EXAMPLES = [
    (0.0266, 300, 0.4, 0.15e-3, 10.72),
    (0.0260, 1000, 0.3, 7e-6, 18.39),
    (0.0408, 800, 1.0, 7e-6, 14.29),
]
"""Galvanised 1 in, PE 32, PE 50: Darcy's column of pipe_examples.csv (package fluids 1.3.1)."""


@pytest.mark.parametrize(("inner_m", "length_m", "l_s", "roughness_m", "loss"), EXAMPLES)
def test_the_published_examples(inner_m, length_m, l_s, roughness_m, loss):
    """Metres lost over the whole length; and the pipe that falls so far passes that flow."""
    assert head_loss_m(inner_m, length_m, speed(inner_m, l_s), roughness_m) == pytest.approx(loss, rel=0.01)
    if roughness_m == 7e-6:
        pipe = Pipe.model_validate(
            {"from": "spring", "to": "house", "inner_mm": inner_m * 1000, "length_m": length_m, "fall_m": loss}
        )
        assert passes_l_day(pipe) == pytest.approx(l_s * 86_400, rel=0.01)


def test_slow_water_is_laminar():
    """Bore 20.4 mm, 0.01 l/s at 15 °C: Re 548, f 0.1168 (pipe_examples.csv)."""
    assert friction_factor(548, 7e-6 / 0.0204) == pytest.approx(0.1168, abs=1e-4)


@pytest.mark.parametrize(
    ("inner_mm", "speeds"), [(20.4, (0.37, 0.42, 0.45)), (26.0, (0.42, 0.47, 0.51)), (40.7, (0.52, 0.59, 0.63))]
)
def test_the_speed_that_carries_air_out(inner_mm, speeds):
    """At 0, 10 and 30 degrees down (Wisner, by arithmetic: pipe_examples.csv)."""
    found = [carries_air_m_s(inner_mm / 1000, slope) for slope in (0, 10, 30)]
    assert found == pytest.approx(speeds, abs=0.006)


def test_the_narrowest_pipe_between_two_tanks_counts():
    """What comes from the source is the source's."""
    wide, narrow = (
        Pipe.model_validate({"from": "spring", "to": "house", "inner_mm": mm, "length_m": 300, "fall_m": 12})
        for mm in (32, 20)
    )
    first = Pipe.model_validate({"from": "source", "to": "spring", "inner_mm": 10, "length_m": 300, "fall_m": 12})
    assert tightest_l_day((wide, narrow, first)) == passes_l_day(narrow) < passes_l_day(wide)
    assert tightest_l_day((first,)) is None


def test_the_water_command_shows_what_a_pipe_passes():
    """By its bore, length and fall; its least speed by its slope; in the table and in JSON."""
    pipe = {"from": "source", "to": "house", "inner_mm": 26.0, "length_m": 1000, "fall_m": 18.39}
    report = water_report(
        Settings.model_validate(
            {"site": {"name": "Q", "timezone": "UTC", "country": "AU"}, "modem": {"device": "x"}, "pipes": [pipe]}
        )
    )
    (shown,) = report.as_json()["pipes"]
    assert (shown["from"], shown["to"]) == ("source", "house")
    assert shown["passes"]["value"] == pytest.approx(0.3 * 60, rel=0.01)
    assert 0.42 < shown["carries_air"]["value"] < 0.47
    assert [row[0] for row in report.rows()][-2:] == ["pipe source to house passes", "  carries air out from"]


def test_a_pipe_that_is_configured_sets_what_a_leak_draws_from_above():
    """Twice the source's flow: the weight lies there; nothing is said, the prior stays."""
    weights = pipes_at(2.0)
    assert sum(weights) == pytest.approx(1.0)
    best = max(range(len(PIPE_TIMES)), key=weights.__getitem__)
    assert abs(math.log(PIPE_TIMES[best] / 2.0)) < 0.2 and weights[best] > max(pipe_prior())
