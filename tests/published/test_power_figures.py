"""Sun, battery and reporting times against published worked examples and tables, and pvlib.

Duffie & Beckman, Solar Engineering of Thermal Processes, 4th ed. (S2-S4), SAP 2012 (S9), battery tables (B1-B11), EN 50136-1 (from memory).
"""

from datetime import timedelta

import pytest

from gateway.heartbeats.silence_limit import DAILY, MOST, REPORTING_TIMES
from gateway.power.battery_charge import (
    DEPTH_LIMIT,
    capacity_share,
    self_discharge_share_day,
    state_of_charge,
)
from gateway.power.freezing import freezing_row_at
from gateway.power.monthly_outlook import COULOMBIC_LEAD, DULL_DAYS, power_outlook
from gateway.power.sun import (
    MEAN_DAYS,
    MJ_PER_KWH,
    Position,
    beam_ratio,
    declination_deg,
    diffuse_share,
    extraterrestrial_kwh,
    on_panel,
    sunset_angle_deg,
)
from gateway.settings.controller_tables import Battery, Load, Panel, Power

NO_WHEEL = "numpy has no wheel for a 32-bit board"
pandas = pytest.importorskip("pandas", reason=NO_WHEEL)
pvlib = pytest.importorskip("pvlib", reason=NO_WHEEL)

MADISON = Position(latitude_deg=43, tilt_deg=60, bearing_deg=180)
H0 = (13.37, 18.81, 26.03, 33.78, 39.42, 41.78, 40.56, 35.92, 28.80, 20.90, 14.62, 11.91)
H = (6.44, 9.89, 12.86, 16.05, 21.36, 23.04, 22.58, 20.33, 14.59, 10.48, 6.37, 5.74)
ALBEDO = (0.7, 0.7, 0.4, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.4)
H_T = (13.7, 17.2, 15.8, 14.7, 16.6, 16.5, 16.8, 17.5, 15.6, 15.2, 11.4, 12.7)
"""D&B example 2.19.1: Madison, 43° N, slope 60° south, isotropic; MJ/m² a day."""


@pytest.mark.parametrize("month", range(12))
def test_tilted_surface_twelve_months(month):
    """D&B example 2.19.1 within 0.1 MJ/m², and its extraterrestrial row within 0.03."""
    day = MEAN_DAYS[month]
    assert extraterrestrial_kwh(43, day) * MJ_PER_KWH == pytest.approx(H0[month], abs=0.03)
    found = on_panel(H[month] / MJ_PER_KWH, MADISON, day, albedo=ALBEDO[month])
    assert found.kwh_m2_day * MJ_PER_KWH == pytest.approx(H_T[month], abs=0.1)


@pytest.mark.parametrize("month", range(12))
def test_the_other_hemisphere_is_the_mirror(month):
    """A panel facing north at 43° S sees half a year later what one facing south at 43° N sees: the same ratio for the same declination."""
    declination = declination_deg(MEAN_DAYS[month])
    south = Position(latitude_deg=-43, tilt_deg=60, bearing_deg=0)
    assert beam_ratio(south, -declination) == pytest.approx(beam_ratio(MADISON, declination), rel=1e-6)


@pytest.mark.parametrize(
    ("latitude", "row"),
    [
        (45, (12.2, 17.4, 25.1, 33.2, 39.2, 41.7, 40.4, 35.3, 27.8, 19.6, 13.3, 10.7)),
        (0, (36.2, 37.4, 37.8, 36.7, 34.8, 33.5, 34.0, 35.7, 37.2, 37.3, 36.3, 35.7)),
        (-45, (42.8, 37.1, 28.6, 19.6, 12.9, 10.0, 11.3, 16.6, 24.9, 34.0, 41.2, 44.5)),
        (-60, (41.0, 32.4, 21.2, 10.9, 4.5, 2.2, 3.1, 8.0, 17.0, 28.4, 38.7, 43.7)),
    ],
)
def test_extraterrestrial_table(latitude, row):
    """D&B table 1.10.1, within 2 % (or 0.3 MJ where little is left)."""
    for month, expected in enumerate(row):
        found = extraterrestrial_kwh(latitude, MEAN_DAYS[month]) * MJ_PER_KWH
        assert found == pytest.approx(expected, rel=0.02, abs=0.3)


def hours_of_day(latitude, day):
    """From sunrise to sunset, which is what the day's sun is integrated over."""
    return sunset_angle_deg(latitude, declination_deg(day)) * 2 / 15


def test_declination_and_day_length_examples():
    """D&B ex. 1.6.1 and 1.6.3; a text book's 15 June at 40° N; FAO-56 daylight of day 246 at 20° S (S8)."""
    assert declination_deg(44) == pytest.approx(-14, abs=0.2)
    assert declination_deg(75) == pytest.approx(-2.4, abs=0.1)
    assert sunset_angle_deg(43, -2.4) == pytest.approx(87.8, abs=0.1)
    assert hours_of_day(40, 166) == pytest.approx(14.83, abs=0.02)
    assert hours_of_day(-20, 246) == pytest.approx(11.67, abs=0.05)


@pytest.mark.parametrize(
    ("date", "latitude"), [("2025-12-21", 55.0), ("2025-06-21", 56.0), ("2025-03-20", 43.0), ("2025-10-01", -35.0)]
)
def test_day_length_and_declination_against_pvlib(date, latitude):
    """pvlib's solar position: day length within a quarter of an hour (it counts refraction), declination within half a degree."""
    when = pandas.Timestamp(date, tz="UTC")
    day = when.day_of_year
    sun = pvlib.solarposition.sun_rise_set_transit_spa(pandas.DatetimeIndex([when]), latitude, 0.0)
    hours = (sun["sunset"].iloc[0] - sun["sunrise"].iloc[0]).total_seconds() / 3600
    assert hours_of_day(latitude, day) == pytest.approx(hours, abs=0.3)
    declination = pvlib.solarposition.declination_cooper69(day) * 57.29577951308232
    assert declination_deg(day) == pytest.approx(float(declination), abs=1e-3)


def test_erbs_diffuse_shares():
    """Intermediate Hd/H of D&B ex. 2.19.1, recomputed with Erbs (6.24), within 0.01."""
    expected = (0.41, 0.37, 0.43, 0.45, 0.39, 0.38, 0.38, 0.37, 0.42, 0.39, 0.46, 0.41)
    for month, share in enumerate(expected):
        sunset = sunset_angle_deg(43, declination_deg(MEAN_DAYS[month]))
        assert diffuse_share(H[month] / H0[month], sunset) == pytest.approx(share, abs=0.011)


def upright(level=()):
    """A sealed 12 V 7 Ah battery with a 10 W panel set upright and 15 mA of standby (common practice, no source)."""
    return Power(
        battery=Battery(capacity_ah=7, volts=12, chemistry="agm"),
        panel=Panel(watts=10, tilt_deg=90, facing_deg=180),
        load=Load(standby_ma=15, text_ma=300, texts_per_day=4),
        monthly_kwh_m2_day=level,
    )


def test_a_small_box_at_56_north():
    """Common practice: not hopeless from March to September, nor carefree in December."""
    months = power_outlook("box", upright(), 56.0).months
    for month in range(3, 10):
        assert months[month - 1].charge.value > months[month - 1].use.value, month
    december = months[11]
    assert december.charge.value < december.use.value or december.days_without_sun.value < 14
    assert power_outlook("box", upright(), 56.0).worst_month in (12, 1)


@pytest.mark.parametrize(("gravity", "percent"), [(1.280, 100), (1.250, 75), (1.220, 50), (1.190, 25), (1.130, 0)])
def test_charge_from_rest_voltage(gravity, percent):
    """V = 6 · (SG + 0.84) and the SG table (B2)."""
    assert state_of_charge(6 * (gravity + 0.84), 12, "lead-acid") == pytest.approx(percent, abs=0.5)
    assert state_of_charge(12 * (gravity + 0.84), 24, "lead-acid") == pytest.approx(percent, abs=0.5)


@pytest.mark.parametrize(
    ("volts", "low", "high"), [(12.9, 100, 100), (12.7, 75, 100), (12.45, 50, 75), (12.15, 25, 50), (11.9, 0, 25)]
)
def test_agm_bands(volts, low, high):
    """An AGM charging table of a vehicle manual (B3)."""
    assert low <= state_of_charge(volts, 12, "agm") <= high


@pytest.mark.parametrize(("percent", "celsius"), [(100, -68), (75, -52), (50, -36), (25, -24), (0, -2.8)])
def test_freezing(percent, celsius):
    """SG, charge and freezing (B2); a flat battery by the flattest row (B4, SG 1.05), for B2 has two rows at 0 %: -12 and -7 °C."""
    assert freezing_row_at(percent).celsius == pytest.approx(celsius, abs=2)


@pytest.mark.parametrize(("celsius", "share"), [(25, 0.999), (10, 0.840), (0, 0.711), (-3.9, 0.656), (-10, 0.563)])
def test_capacity_by_temperature(celsius, share):
    """Fit to IEEE 485 table 1 (B7): the prudent floor."""
    assert capacity_share(celsius) == pytest.approx(share, abs=0.002)


@pytest.mark.parametrize(("celsius", "percent_a_month"), [(25, 5.0), (15, 2.5), (0, 0.88)])
def test_self_discharge(celsius, percent_a_month):
    """5 % a month at 25 °C, doubling every 10 °C (B7)."""
    assert self_discharge_share_day(celsius) * 30 * 100 == pytest.approx(percent_a_month, abs=0.05)


def test_sizing_example():
    """1000 Wh a day, 2.5 days, half depth, 40 °F (×1.30), 12 V: 541.7 Ah (B8)."""
    needed = 1000 * 2.5 / 0.5 * 1.30 / 12
    assert needed == pytest.approx(541.7, abs=0.1)
    power = Power(
        battery=Battery(capacity_ah=needed, volts=12),
        load=Load(standby_ma=1000 / 12 / 24 * 1000, texts_per_day=0),
        monthly_celsius=tuple([4.4] * 12),
    )
    days = power_outlook("box", power, 45.0).months[0].days_without_sun.value
    assert days == pytest.approx(2.5, rel=0.06)


@pytest.mark.parametrize(
    ("category", "seconds"),
    [
        ("SP1", 2_764_800),
        ("SP2", 90_000),
        ("SP3", 1_800),
        ("SP4", 180),
        ("SP5", 90),
        ("SP6", 20),
        ("DP1", 90_000),
        ("DP2", 1_800),
        ("DP3", 180),
        ("DP4", 90),
    ],
)
def test_reporting_times(category, seconds):
    """EN 50136-1:2012 reporting times by category: SP6 and DP4 seen in public test comments that cite it (A6), the rest from memory."""
    assert REPORTING_TIMES[category] == timedelta(seconds=seconds)


def test_a_learnt_limit_keeps_to_the_daily_supervised_path():
    """EN 50136-1 (from memory): never shorter than SP2's 25 hours, never longer than SP1's 32 days."""
    assert timedelta(hours=25) == DAILY and timedelta(days=32) == MOST


def test_charge_losses_and_depth():
    """Lead-acid gives back 85 % of the charge put in (B15); half of it is planned with (B8), and never more than 80 % used (B14)."""
    assert COULOMBIC_LEAD == 0.85
    assert {key for key, depth in DEPTH_LIMIT.items() if depth == 0.5} == {"lead-acid", "agm", "gel"}
    assert max(DEPTH_LIMIT.values()) <= 0.8


def test_two_dull_weeks():
    """IEEE 1013 (from memory): critical loads at high latitude are planned for 7 to 14 days without sun; the verdict takes the longer."""
    assert DULL_DAYS == 14


def test_the_coldest_multiplier():
    """IEEE 485 table 1 at -3.9 °C: 1.520 (from memory), within 0.01."""
    assert 1 / capacity_share(-3.9) == pytest.approx(1.520, abs=0.01)
