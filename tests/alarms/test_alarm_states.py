"""The life of an alarm is its table: every pair is in it, or raises and names both; and it ends."""

from typing import get_args

import pytest

from gateway.alarms.alarm_states import TRANSITIONS, Trigger, next_state
from gateway.facts.alarms import AlarmState

STATES, TRIGGERS = get_args(AlarmState), get_args(Trigger)
LACKING = [(state, trigger) for state in STATES for trigger in TRIGGERS if (state, trigger) not in TRANSITIONS]


@pytest.mark.parametrize(("state", "trigger"), TRANSITIONS)
def test_every_pair_leads_to_a_state(state, trigger):
    """No pair of the table names a state or a trigger that there is not."""
    assert state in STATES and trigger in TRIGGERS and next_state(state, trigger) in STATES


@pytest.mark.parametrize(("state", "trigger"), LACKING)
def test_a_pair_that_is_missing_names_both(state, trigger):
    """It never falls through."""
    with pytest.raises(KeyError, match=rf"{state}.*{trigger}"):
        next_state(state, trigger)


def test_the_end_is_an_end():
    """From each state it can be over, and nothing follows that: what comes again is a new alarm."""
    assert {state for state, trigger in TRANSITIONS if trigger == "end"} == set(STATES) - {"over"}
    assert all(state != "over" for state, _ in TRANSITIONS)


def test_only_an_answer_takes_it():
    """Nothing but somebody's OK leads to `taken`, and only the end of the last turn to `unanswered`."""
    assert {trigger for (state, trigger), to in TRANSITIONS.items() if to == "taken"} == {"take"}
    assert {trigger for (_, trigger), to in TRANSITIONS.items() if to == "unanswered"} == {
        "last-turn-passes",
        "decline",
    }


def test_what_is_worse_is_told_anew():
    """A worse alarm starts its own round, whoever has it: what somebody took is no longer what there is."""
    assert {TRANSITIONS[(state, "worsen")] for state in ("open", "unanswered", "taken")} == {"open"}
