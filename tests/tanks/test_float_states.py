"""A float's memory moves by its table, `settle` holds a switch back, and old texts move nothing."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts.states.controllers_and_tanks import FloatMemory
from gateway.tanks import (
    apply_debounce,
    apply_reading,
    debounce_due,
    distrust_future,
)
from gateway.tanks.float_states import TRANSITIONS

T0 = datetime(2026, 3, 1, 4, 11, tzinfo=UTC)
HOUR = timedelta(hours=1)
AT_ONCE, FIVE = timedelta(0), timedelta(minutes=5)


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
    after, switched = apply_reading(FloatMemory(state=was, since=since), read, T0 + HOUR, T0 + HOUR, AT_ONCE)
    assert (switched.happened, after.state) == (happened, becomes)


def test_a_text_older_than_what_is_known_moves_nothing():
    """Late texts are evidence of then, not of now."""
    memory = FloatMemory(state="idle", since=T0)
    after, switched = apply_reading(memory, "active", T0 - HOUR, T0 + HOUR, AT_ONCE)
    assert after == memory and switched.happened == "nothing"


def test_a_debounce_counts_only_what_holds():
    """A state counts after it has held for `settle`, from when it was read; a contrary reading drops it."""
    idle = FloatMemory(state="idle", since=T0 - HOUR)
    waiting, switched = apply_reading(idle, "active", T0, T0, FIVE)
    assert switched.happened == "nothing" and waiting.state == "idle"
    assert apply_debounce(waiting, T0 + timedelta(minutes=4), FIVE) == (waiting, None)
    counted, late = apply_debounce(waiting, T0 + timedelta(minutes=5), FIVE)
    assert counted.state == "active" and late is not None and (late.happened, late.at) == ("began", T0)
    dropped, nothing = apply_reading(waiting, "idle", T0 + timedelta(minutes=1), T0 + timedelta(minutes=1), FIVE)
    assert nothing.happened == "nothing" and dropped.pending is None
    assert apply_debounce(dropped, T0 + HOUR, FIVE) == (dropped, None)


def test_a_pair_that_no_table_knows_is_an_error_that_names_it():
    """Nothing is pending, so nothing can have held; and each reading has its row in every state."""
    for state, pending, trigger in TRANSITIONS:
        assert trigger == "held" or (state, pending, {"active": "idle", "idle": "active"}[trigger]) in TRANSITIONS
    wrong = FloatMemory(state="idle", pending="idle", pending_at=T0, pending_due=T0)
    with pytest.raises(KeyError, match="no 'held'"):
        apply_debounce(wrong, T0, FIVE)


def test_a_since_that_lies_ahead_is_distrusted_at_once():
    """The state stays, and the next text moves it; how long it had held is not known."""
    ahead = FloatMemory(state="idle", since=T0 + HOUR)
    assert distrust_future(ahead, T0 + HOUR) == ahead
    trusted = distrust_future(ahead, T0)
    after, switched = apply_reading(trusted, "active", T0, T0, AT_ONCE)
    assert (after.state, switched.happened, switched.was_since) == ("active", "began", None)


def test_an_end_of_settling_that_lies_too_far_ahead_is_set_anew():
    """The clock was a year ahead when it was set: it settles from now on, and counts then."""
    waiting = FloatMemory(state="idle", since=T0, pending="active", pending_at=T0 + 365 * 24 * HOUR)
    waiting = replace(waiting, pending_due=T0 + 365 * 24 * HOUR + FIVE)
    assert debounce_due(waiting, T0 + HOUR, FIVE) == T0 + HOUR
    anew, nothing = apply_debounce(waiting, T0 + HOUR, FIVE)
    assert nothing is None and debounce_due(anew, T0 + HOUR, FIVE) == T0 + HOUR + FIVE
    assert apply_debounce(anew, T0 + HOUR, FIVE) == (anew, None)
    counted, switched = apply_debounce(anew, T0 + HOUR + FIVE, FIVE)
    assert (counted.state, switched.happened, switched.at) == ("active", "began", T0 + HOUR)


def test_said_again_while_it_settles_it_settles_from_the_first():
    """A box that repeats itself puts nothing off; with a settling of nothing by now it counts from the first, too."""
    idle = FloatMemory(state="idle", since=T0 - HOUR)
    first, nothing = apply_reading(idle, "active", T0, T0, FIVE)
    assert (first.pending_at, first.pending_due, nothing.was_since) == (T0, T0 + FIVE, None)
    again, _ = apply_reading(first, "active", T0 + FIVE / 2, T0 + FIVE / 2, FIVE)
    assert again == first
    counted, switched = apply_reading(first, "active", T0 + FIVE / 2, T0 + FIVE / 2, AT_ONCE)
    assert (counted.state, counted.since) == ("active", T0)
    assert (switched.happened, switched.at, switched.was_since) == ("began", T0, T0 - HOUR)


@pytest.mark.parametrize(("pending_at", "counts_from"), [(T0 - HOUR, T0 - HOUR), (T0 + HOUR, T0), (None, T0)])
def test_a_settling_without_an_end_begins_now_and_counts_from_when_it_was_read(pending_at, counts_from):
    """Never from a time that is not come."""
    waiting = FloatMemory(state="idle", since=T0 - 2 * HOUR, pending="active", pending_at=pending_at)
    anew, nothing = apply_debounce(waiting, T0, FIVE)
    assert nothing is None and (anew.pending_at, anew.pending_due) == (counts_from, T0 + FIVE)
