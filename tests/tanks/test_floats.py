"""A float's memory moves by its table, `debounce` holds a switch back, and old texts move nothing."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.tanks import FloatMemory, FloatNow, apply_debounce, apply_reading, tank_state

T0 = datetime(2026, 3, 1, 4, 11, tzinfo=UTC)
HOUR = timedelta(hours=1)
NO_DEBOUNCE = timedelta(0)


@pytest.mark.parametrize(
    ("was", "read", "happened", "becomes"),
    [
        ("unknown", "active", "began", "active"),
        ("unknown", "idle", "first-idle", "idle"),
        ("idle", "active", "began", "active"),
        ("idle", "idle", "nothing", "idle"),
        ("active", "idle", "over", "idle"),
        ("active", "active", "nothing", "active"),
    ],
)
def test_every_pair_of_the_table(was, read, happened, becomes):
    """Each (state, reading) leads where the table says."""
    since = None if was == "unknown" else T0
    after, switched = apply_reading(FloatMemory(state=was, since=since), read, T0 + HOUR, T0 + HOUR, NO_DEBOUNCE)
    assert (switched.happened, after.state) == (happened, becomes)


def test_a_text_older_than_what_is_known_moves_nothing():
    """Late texts are evidence of then, not of now."""
    memory = FloatMemory(state="idle", since=T0)
    after, switched = apply_reading(memory, "active", T0 - HOUR, T0 + HOUR, NO_DEBOUNCE)
    assert after == memory and switched.happened == "nothing"


def test_debounce_counts_only_what_holds():
    """A state counts after it has held for its `debounce`, from when it was read; a contrary reading drops it."""
    idle = FloatMemory(state="idle", since=T0 - HOUR)
    waiting, switched = apply_reading(idle, "active", T0, T0, timedelta(minutes=5))
    assert switched.happened == "nothing" and waiting.state == "idle"
    assert apply_debounce(waiting, T0 + timedelta(minutes=4)) == (waiting, None)
    counted, late = apply_debounce(waiting, T0 + timedelta(minutes=5))
    assert counted.state == "active" and late is not None and (late.happened, late.at) == ("began", T0)
    dropped, nothing = apply_reading(
        waiting, "idle", T0 + timedelta(minutes=1), T0 + timedelta(minutes=1), timedelta(minutes=5)
    )
    assert nothing.happened == "nothing" and dropped.pending is None
    assert apply_debounce(dropped, T0 + HOUR) == (dropped, None)


def test_memory_survives_as_json():
    """What is stored comes back the same."""
    waiting, _ = apply_reading(FloatMemory(state="idle", since=T0), "active", T0 + HOUR, T0 + HOUR, HOUR)
    assert FloatMemory.from_json(waiting.as_json()) == waiting
    assert FloatMemory.from_json(None) == FloatMemory()


@pytest.mark.parametrize(
    ("floats", "state"),
    [
        ([], "unknown"),
        ([("low", "active")], "low"),
        ([("low", "idle")], "ok"),
        ([("low", "unknown")], "unknown"),
        ([("low", "active"), ("high", "idle")], "low"),
        ([("low", "idle"), ("high", "active")], "high"),
        ([("low", "idle"), ("high", "unknown")], "ok"),
        ([("low", "unknown"), ("high", "idle")], "unknown"),
        ([("high", "idle")], "ok"),
        ([("low", "active"), ("high", "active")], "low"),
    ],
)
def test_state_of_a_tank(floats, state):
    """The floats together say what the tank is; what cannot be known is unknown."""
    seen = [FloatNow(means=means, state=now, since=T0) for means, now in floats]
    assert tank_state(seen)[0] == state
