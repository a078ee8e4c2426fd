"""Low is told once per episode and well again once; nothing is believed that cannot be; the trend says when it will be low."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gateway.facts.states.controllers_and_tanks import BatteryEpisode
from gateway.power.low_battery import judge_percent, judge_volts
from gateway.power.voltage_trend import battery_trend
from gateway.settings.controller_tables import Battery, Load, Power
from tests.kept import kept

T0 = datetime(2026, 6, 1, 6, 0, tzinfo=UTC)
H = timedelta(hours=1)
DAY = 24 * H


def box(volts=12.0, chemistry="lead-acid", low_volts=None):
    return Power(
        battery=Battery(capacity_ah=18, volts=volts, chemistry=chemistry, low_volts=low_volts), load=Load(standby_ma=30)
    )


def told(readings, power=None, celsius=None):
    """Every reading goes through JSON, as it does between two starts."""
    episode, said = BatteryEpisode(), []
    for at, volts in readings:
        episode = kept(episode)
        episode, what = judge_volts(episode, at, volts, celsius, power)
        said.append(what)
    return said


def hourly(*volts):
    return [(T0 + n * H, volt) for n, volt in enumerate(volts)]


LOW, BACK = "battery-low", "battery-back"


@pytest.mark.parametrize(
    ("volts", "power", "expected"),
    [
        ((12.6, 12.01, 12.0, 11.9, 12.2, 11.8), None, [None, None, LOW, None, None, None]),
        ((11.9, 12.39, 12.4, 12.6), None, [LOW, None, BACK, None]),
        ((11.9, 0.3, 60.0, 11.8), None, [LOW, None, None, None]),
        ((0.3, 60.0, 7.1, 18.1, float("nan"), float("inf")), None, [None] * 6),
        ((24.3, 24.0, 23.9, 24.8), box(24), [None, LOW, None, BACK]),
        ((6.1, 6.0, 6.2), box(6), [None, LOW, BACK]),
        ((25.0, 21.0), None, [None, None]),
        ((12.7, 11.49, 11.8, 11.9), box(low_volts=11.5), [None, LOW, None, BACK]),
        ((13.0, 12.8), box(chemistry="lifepo4"), [None, LOW]),
        ((12.05,), box(chemistry="agm"), [LOW]),
    ],
)
def test_once_per_episode(volts, power, expected):
    """Low at the limit of its chemistry and size, back only well above it; 0.3 V and 60 V are not believed of a 12 V box."""
    assert told(hourly(*volts), power) == expected


def test_a_cold_battery_is_not_called_low_for_its_cold():
    """11.97 V at -10 °C is the charge of 12.01 V at 25 °C."""
    assert told(hourly(11.97), celsius=-10.0) == [None]
    assert told(hourly(11.97), celsius=25.0) == [LOW]


def test_a_weak_winter_sun_does_not_call_twice_a_day():
    """Down every night, lifted every noon, for ten days: low, well, low; then nothing until it has held for a day and a night."""
    nights = [(T0 + n * DAY, 11.9) for n in range(10)]
    noons = [(T0 + n * DAY + 7 * H, 13.1) for n in range(10)]
    said = [text for text in told(sorted(nights + noons)) if text]
    assert said == [LOW, BACK, LOW]
    after = [(T0 + 10 * DAY + n * 6 * H, 12.7) for n in range(5)]
    assert [text for text in told(sorted(nights + noons) + after) if text] == [LOW, BACK, LOW, BACK]


def test_a_later_episode_is_told_anew():
    """Three days well, then low: told, and well again at once."""
    readings = [(T0, 11.9), (T0 + H, 12.6), (T0 + 4 * DAY, 11.9), (T0 + 4 * DAY + H, 12.6)]
    assert told(readings) == [LOW, BACK, LOW, BACK]


def test_a_late_text_moves_nothing_but_a_clock_put_right_does():
    """An older reading is evidence of then; one that is years older means that the clock was wrong before."""
    assert told([(T0, 12.6), (T0 - 2 * DAY, 11.5)]) == [None, None]
    assert told([(T0 + 3650 * DAY, 12.6), (T0, 11.5)]) == [None, LOW]
    assert told([(T0, 12.6), (T0, 11.5)]) == [None, LOW]


def test_percent_goes_the_same_way():
    """25 % is low, 40 % is well; 130 % is not believed."""
    episode, said = BatteryEpisode(), []
    for hours, percent in enumerate((50, 25, 10, 30, 130, 40)):
        episode, what = judge_percent(episode, T0 + hours * H, percent)
        said.append(what)
    assert said == [None, LOW, None, None, None, BACK]


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(0, 10**6), st.floats(0, 70)), max_size=40))
def test_low_and_well_take_turns(readings):
    """Whatever is read, in whatever order: the first told is low, and no two alike follow each other."""
    said = [text for text in told([(T0 + timedelta(seconds=s), volts) for s, volts in readings]) if text]
    assert said == ([LOW, BACK] * len(said))[: len(said)]


def days(*volts, lift=0.0):
    """One reading a night, the last an hour ago, and one a noon that the panel lifts."""
    nights = [(T0 - H - DAY * (len(volts) - 1 - n), volt) for n, volt in enumerate(volts)]
    return nights + [(at - 17 * H, volt + lift) for at, volt in nights if lift]


@pytest.mark.parametrize(
    ("readings", "power", "slope", "low_in_days"),
    [
        (days(12.6, 12.55, 12.5, 12.45, 12.4), None, -0.05, 8),
        (days(12.6, 12.55, 12.5, 12.45, 12.4, lift=1.2), None, -0.05, 8),
        (days(12.6, 12.55, 15.9, 12.45, 12.4), None, -0.05, 8),
        (days(12.6, 12.55, 0.2, 12.45, 12.4), None, -0.05, 8),
        (days(25.2, 25.1, 25.0, 24.9, 24.8), box(24), -0.1, 8),
        (days(12.6, 12.6, 12.6, 12.6), None, 0, None),
        (days(12.3, 12.4, 12.5, 12.6), None, 0.1, None),
        (days(12.6, 12.588, 12.576, 12.564), None, -0.012, 47),
        (days(13.3, 13.288, 13.276, 13.264), None, -0.012, None),
        (days(12.1, 12.05, 12.0, 11.95), None, -0.05, 0),
    ],
)
def test_trend(readings, power, slope, low_in_days):
    """The slope of each day's lowest, and the day it reaches the limit, where that is within two months."""
    found = battery_trend(readings, power, T0)
    assert found.slope.value == pytest.approx(slope, abs=2e-3)
    if low_in_days is None:
        assert found.low_on is None
    else:
        assert (found.low_on - T0) / DAY == pytest.approx(low_in_days, abs=0.1)


@pytest.mark.parametrize(
    "readings",
    [
        [],
        days(12.6, 12.5, 12.4),
        days(24.6, 24.5, 24.4, 24.3, 24.2),
        [(at - 20 * DAY, v) for at, v in days(12.6, 12.5, 12.4, 12.3)],
    ],
)
def test_too_little_is_no_trend(readings):
    """Three days, two weeks ago, or volts of a battery whose size nobody knows: None."""
    assert battery_trend(readings, None, T0) is None
