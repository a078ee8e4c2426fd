"""A box's own rhythm gives its limit; a silence is explained by what was on record before it, and by nothing else."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gateway.heartbeats import learnt_limit, why_silent
from gateway.heartbeats.silence_limit import LEAST, MOST, UNLEARNT

T0 = datetime(2026, 6, 1, 6, 0, tzinfo=UTC)
H = timedelta(hours=1)
DAY = 24 * H


def every(step, times):
    return [T0 + step * n for n in range(times)]


DAILY = every(DAY, 40)
WET_DAYS = [T0 + day * 2 * DAY + n * H / 2 for day in range(12) for n in range(20)]
"""Twenty texts within ten hours, then none until the day after next: 38.5 hours."""


@pytest.mark.parametrize(
    ("times", "hours"),
    [
        ([], 26),
        (every(DAY, 8), 26),
        (every(DAY, 9), 30),
        (DAILY, 30),
        (list(reversed(DAILY)), 30),
        (every(H, 200), 25),
        (every(7 * DAY, 12), 210),
        (every(40 * DAY, 12), 32 * 24),
        (every(timedelta(minutes=1), 500), 26),
        (sorted(DAILY + [at + timedelta(seconds=20) for at in DAILY]), 30 - 25 / 3600),
        (WET_DAYS, 38.5 * 1.25),
        (every(DAY, 10) + [T0 + 20 * DAY + DAY * n for n in range(5)], 30),
    ],
)
def test_learnt_limit(times, hours):
    """The 95 % quantile of the longest interval of each day, and a quarter more; one long outage among them teaches nothing."""
    assert learnt_limit(times).total_seconds() == pytest.approx(hours * 3600, abs=1)


@settings(deadline=None)
@given(st.lists(st.integers(-(10**8), 10**8).map(lambda seconds: T0 + timedelta(seconds=seconds)), max_size=60))
def test_a_learnt_limit_is_always_within_bounds(times):
    """Whatever the times, the limit is from 25 hours to 32 days."""
    assert LEAST <= learnt_limit(times) <= MOST
    assert learnt_limit(times[:7]) == UNLEARNT


def volts(*figures, step=DAY):
    return [(T0 - step * (len(figures) - 1 - n), figure) for n, figure in enumerate(figures)]


@pytest.mark.parametrize(
    ("record", "kind", "because"),
    [
        ({}, "unknown", None),
        ({"power_lost": True}, "battery", "power-lost"),
        ({"volts": volts(12.6, 12.5, 12.4, 12.3)}, "battery", "falling-volts"),
        ({"volts": volts(12.6, 12.5, 17.9, 12.4, 12.3)}, "battery", "falling-volts"),
        ({"volts": list(reversed(volts(12.6, 12.5, 12.4)))}, "battery", "falling-volts"),
        ({"volts": volts(12.6, 12.6, 12.59, 12.58)}, "unknown", None),
        ({"volts": volts(12.3, 12.4, 12.6)}, "unknown", None),
        ({"volts": volts(12.6, 12.3)}, "unknown", None),
        ({"volts": volts(12.8, 12.6, 12.4, step=H)}, "unknown", None),
        ({"volts": [(at - 20 * DAY, v) for at, v in volts(12.6, 12.5, 12.4, 12.3)]}, "unknown", None),
        ({"volts": volts(25.2, 25.14, 25.08), "nominal_v": 24}, "unknown", None),
        ({"volts": volts(25.2, 25.08, 24.96), "nominal_v": 24}, "battery", "falling-volts"),
        ({"sun_short": True}, "battery", "sun-short"),
        ({"our_signal": False}, "ours", "no-signal"),
        ({"our_signal": False, "others_silent": 2, "power_lost": True}, "ours", "no-signal"),
        ({"our_signal": False, "power_lost": True}, "battery", "power-lost"),
        ({"our_signal": True, "others_silent": 3}, "unknown", None),
        ({"our_signal": None, "others_silent": 3}, "unknown", None),
    ],
)
def test_why_it_is_silent(record, kind, because):
    """Its battery after power loss, falling volts or in a month short of sun; our side with no signal; else nobody knows."""
    known = {"power_lost": False, "volts": [], "others_silent": 0, "our_signal": None, "since": T0} | record
    found = why_silent(**known)
    assert (found.kind, found.because) == (kind, because)


def test_falling_volts_are_named():
    """The last voltage and the fall a day ride along for the message."""
    found = why_silent(
        power_lost=False, volts=volts(12.6, 12.5, 12.4), others_silent=0, our_signal=True, since=T0 + 2 * H
    )
    assert found.data == {"volts": 12.4, "fall_v_a_day": 0.1}
