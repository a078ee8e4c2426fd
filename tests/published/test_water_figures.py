"""Volumes, ram, use and statistics against published tables and worked examples.

Sources are named beside each table; values are from /shared's sheet of published check values, copied here.
"""

import math
from datetime import UTC, datetime, timedelta

import pytest

from gateway.settings import water_tables as m
from gateway.water.demand import FLAT_L_DAY, HOURLY, day_shares, demand_l_day, head_l_day
from gateway.water.inflow import EFFICIENCY_BY_RATIO, delivered_l_min, efficiency_by_ratio
from gateway.water.use_belief import Component, UseBelief, observe
from gateway.water.volumes import below_l, capacity_l, level_m

TANK = pytest.importorskip("fluids.geometry", reason="numpy has no wheel for a 32-bit board").TANK

UPRIGHT = m.UprightCylinder(kind="upright-cylinder", diameter_m=1.2, height_m=1.5)
LYING = m.LyingCylinder(kind="lying-cylinder", diameter_m=1.5, length_m=3)
FRUSTUM = m.Tapered(kind="tapered", bottom_diameter_m=0.9, top_diameter_m=1.1, height_m=1.0)


@pytest.mark.parametrize(
    ("shape", "level", "cubic_metres"),
    [
        (UPRIGHT, 0.15, 0.169646),
        (UPRIGHT, 0.5, 0.565487),
        (UPRIGHT, 1.0, 1.130973),
        (UPRIGHT, 1.5, 1.696460),
        (LYING, 0.15, 0.275908),
        (LYING, 0.30, 0.754811),
        (LYING, 0.375, 1.036437),
        (LYING, 0.50, 1.546914),
        (LYING, 0.75, 2.650719),
        (LYING, 1.00, 3.754524),
        (LYING, 1.20, 4.546627),
        (LYING, 1.35, 5.025529),
        (LYING, 1.5, 5.301438),
        (m.LyingCylinder(kind="lying-cylinder", diameter_m=2, length_m=5), 1.0, 7.853982),
        (FRUSTUM, 0.2, 0.132973),
        (FRUSTUM, 0.5, 0.354738),
        (FRUSTUM, 1.0, 0.788016),
        (m.Box(kind="box", length_m=1.5, width_m=1.0, height_m=1.0), 0.8, 1.2),
    ],
)
def test_volumes(shape, level, cubic_metres):
    """Rows of the published table (package fluids 1.3.1; frusta by scipy.quad; worked example T2)."""
    assert below_l(shape, level) / 1000 == pytest.approx(cubic_metres, abs=2e-6)
    assert level_m(shape, cubic_metres * 1000) == pytest.approx(level, abs=1e-5)


@pytest.mark.parametrize("depth", [0.05, 0.3, 0.7, 1.1, 1.45])
def test_volumes_against_fluids(depth):
    """The package fluids, run here."""
    lying = TANK(D=1.5, L=3.0, horizontal=True)
    upright = TANK(D=1.2, L=1.5, horizontal=False)
    assert below_l(LYING, depth) / 1000 == pytest.approx(lying.V_from_h(depth), rel=1e-6)
    assert below_l(UPRIGHT, depth) / 1000 == pytest.approx(upright.V_from_h(depth), rel=1e-6)


@pytest.mark.parametrize(
    ("depth", "share"), [(5, 0.018693), (16, 0.103275), (44, 0.423789), (60, 0.626470), (90, 0.947956), (95, 0.981307)]
)
def test_share_of_a_lying_cylinder(depth, share):
    """Gauging a horizontal cylinder (T1; package fluids)."""
    assert below_l(LYING, 1.5 * depth / 100) / capacity_l(LYING) == pytest.approx(share, abs=1e-5)


def test_ram_worked_example_a():
    """Q 30 l/s, H 4 m, q 3 l/s, h 18 m: D'Aubuisson's efficiency is 45 % (R1), so that η 0.45 delivers 3 l/s again."""
    ram = m.RamPump(kind="ram", drive_flow_l_min=30 * 60, fall_m=4, lift_m=18, efficiency=0.45)
    assert delivered_l_min(ram) / 60 == pytest.approx(3.0)


def test_ram_unit_check():
    """10 l/min, 3 m, 30 m, η 0.6: 864 l/day (1.14, computed from the formula)."""
    ram = m.RamPump(kind="ram", drive_flow_l_min=10, fall_m=3, lift_m=30, efficiency=0.6)
    assert delivered_l_min(ram) * 1440 == pytest.approx(864)


@pytest.mark.parametrize(
    ("ratio", "percent"),
    [
        (4, 72),
        (6, 61),
        (8, 52),
        (10, 44),
        (12, 37),
        (14, 31),
        (16, 25),
        (18, 19),
        (20, 14),
        (22, 9),
        (24, 4),
        (26, 0),
        (5, 66.5),
    ],
)
def test_ram_efficiency_by_ratio(ratio, percent):
    """Building Trades Pocketbook, The Hydraulic Ram (R2): twelve points, linear between."""
    assert efficiency_by_ratio(ratio) * 100 == pytest.approx(percent)
    assert len(EFFICIENCY_BY_RATIO) == 12


@pytest.mark.parametrize(
    ("kind", "litres"),
    [
        ("dairy cow", 70),
        ("non-lactating cattle", 45),
        ("calf", 25),
        ("working horse", 55),
        ("horse", 35),
        ("sheep", 4),
        ("sow", 25),
    ],
)
def test_livestock_flat(kind, litres):
    """Farm notes, New Zealand 2008 (W6): litres a head a day."""
    assert FLAT_L_DAY[kind] == litres


@pytest.mark.parametrize(
    ("kind", "celsius", "litres"),
    [
        ("lactating cow", 21.1, 61.7),
        ("lactating cow", 26.7, 67.8),
        ("lactating cow", 32.2, 81.8),
        ("dry cow", 21.1, 40.9),
        ("dry cow", 32.2, 66.6),
        ("bull", 26.7, 55.3),
    ],
)
def test_livestock_by_warmth(kind, celsius, litres):
    """Beef cattle by temperature, after NRC 1996 (W7)."""
    assert head_l_day(m.Animals(kind=kind, head=1), celsius) == pytest.approx(litres, abs=0.1)


def test_people_and_animals_add_up():
    """Four people at 120 l and six dairy cows at 70 l (W6)."""
    demand = m.Demand(people=4, litres_per_person_day=120, animals=(m.Animals(kind="dairy cow", head=6),))
    assert demand_l_day(demand) == pytest.approx(900)


NET1 = (1.0, 1.2, 1.4, 1.6, 1.4, 1.2, 1.0, 0.8, 0.6, 0.4, 0.6, 0.8)
"""EPANET example network Net1 (US EPA, W10): twelve steps of two hours, mean 1."""


def equalising(multipliers):
    """Storage that evens a pattern out against a constant inflow, as a share of a day's volume."""
    mean = sum(multipliers) / len(multipliers)
    total, seen = 0.0, [0.0]
    for multiplier in multipliers:
        total += (mean - multiplier) / mean / len(multipliers)
        seen.append(total)
    return max(seen) - min(seen)


def test_hourly_pattern_has_mean_one_and_sane_storage():
    """Net1's storage is 0.150 of a day (3.22); ours, a house asleep at night, is of that order and has mean 1."""
    assert equalising(NET1) == pytest.approx(0.150, abs=1e-3)
    assert sum(HOURLY) / 24 == pytest.approx(1.0)
    assert 0.1 < equalising(HOURLY) < 0.3
    day = datetime(2026, 3, 1, tzinfo=UTC)
    assert day_shares(day, day + timedelta(days=1), UTC) == pytest.approx(1.0)


def test_mass_curve_problem():
    """225,000 l a day, pumping 08-16 (inputs W11, answer computed): 155,000 l of storage."""
    draws = {7: 0.30, **{hour: 0.35 / 9 for hour in range(8, 17)}, 17: 0.20, 18: 0.10 + 0.05 * 0.5 / 12.5}
    rest = [hour for hour in range(24) if hour not in draws]
    for hour in rest:
        draws[hour] = 0.05 / 12.5
    total, seen = 0.0, [0.0]
    for hour in range(24):
        total += (225_000 / 8 if 8 <= hour < 16 else 0) - 225_000 * draws[hour]
        seen.append(total)
    assert max(seen) - min(seen) == pytest.approx(155_000, rel=0.01)


def test_conjugate_normal_against_arithmetic():
    """The precision-weighted mean of the conjugate normal (BDA3 §2.5, from memory): prior N(0, 0.35²), 0.2 seen with a noise of 0.25."""
    likely, (after,) = observe([Component(weight=1.0, mean=0.0, sd=0.35)], 0.2, 0.25)
    precision = 1 / 0.35**2 + 1 / 0.25**2
    assert after.mean == pytest.approx((0.2 / 0.25**2) / precision)
    assert after.sd == pytest.approx(math.sqrt(1 / precision))
    spread = math.hypot(0.35, 0.25)
    assert likely == pytest.approx(math.exp(-0.5 * (0.2 / spread) ** 2) / (spread * math.sqrt(2 * math.pi)))


def test_six_cases_correct_a_figure_that_is_off_by_a_third():
    """Six episodes at 1.33 times the figure leave the belief within a tenth of it; a mixture keeps its weights' sum."""
    parts = list(UseBelief().usual)
    for _ in range(6):
        parts = observe(parts, math.log(1.33), 0.25)[1]
    assert math.exp(UseBelief(usual=tuple(parts)).mean) == pytest.approx(1.33, rel=0.1)
    assert sum(part.weight for part in parts) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("kind", "celsius", "litres"),
    [
        ("lactating ewe", None, 8.93),
        ("lactating sow", None, 18.9),
        ("growing pig", None, 5.0),
        ("finishing pig", None, 7.6),
        ("laying hen", None, 0.27),
        ("laying hen", 33.0, 0.27 * 1.5),
        ("broiler", None, 0.33),
    ],
)
def test_more_livestock_drinks_as_published(kind, celsius, litres):
    """NRC 2007, swine.extension.org, a Plymouth thesis, the Poultry CRC table (livestock_water_more.csv); litres a head a day."""
    assert head_l_day(m.Animals(kind=kind, head=1), celsius) == pytest.approx(litres, rel=0.01)


def test_a_flock_in_milk_drinks_more_than_twice_what_dry_sheep_do():
    """At least half as much again is the published rule; the table's ewe is more."""
    assert head_l_day(m.Animals(kind="lactating ewe", head=1), None) > 2 * head_l_day(
        m.Animals(kind="sheep", head=1), None
    )
