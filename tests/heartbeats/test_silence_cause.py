"""A silence is explained by what was on record before it, and by nothing else."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.heartbeats import why_silent

T0 = datetime(2026, 6, 1, 6, 0, tzinfo=UTC)
H = timedelta(hours=1)
DAY = 24 * H


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
