"""A tank's state from its floats: what is low stands before what is high, and silence is no news."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.tanks import FloatNow, tank_state

T0 = datetime(2026, 3, 1, 4, 11, tzinfo=UTC)
LATER = T0 + timedelta(hours=2)


def is_(means, state, since=T0):
    return FloatNow(means=means, state=state, since=since)


@pytest.mark.parametrize(
    ("floats", "state", "since"),
    [
        ([], "unknown", None),
        ([is_("low", "unknown", None)], "unknown", None),
        ([is_("low", "active")], "low", T0),
        ([is_("low", "active", LATER), is_("low", "active")], "low", T0),
        ([is_("low", "active"), is_("high", "active", LATER)], "low", T0),
        ([is_("high", "active", LATER), is_("low", "idle")], "high", LATER),
        ([is_("high", "active")], "high", T0),
        ([is_("low", "idle"), is_("high", "unknown", None)], "ok", T0),
        ([is_("low", "unknown", None), is_("high", "idle")], "unknown", None),
        ([is_("low", "idle"), is_("low", "unknown", None)], "ok", T0),
        ([is_("low", "idle"), is_("low", "idle", LATER)], "ok", LATER),
        ([is_("high", "idle"), is_("high", "idle", LATER)], "ok", LATER),
        ([is_("high", "idle"), is_("high", "unknown", None)], "unknown", None),
    ],
)
def test_what_the_floats_make_of_a_tank(floats, state, since):
    """Low while a low float is active, since the first of them; ok only by what says so, since the last of them."""
    assert tank_state(floats) == (state, since)
