"""An alarm and the household's times → what comes by time alone, and whether what is said again may wake people."""

from datetime import timedelta

import pytest

from gateway.alarms.next_step import next_step, presses, reminder_wait, steps, turn_length
from gateway.settings.people_tables import CallOut
from tests.alarms.test_rounds import NOW, low

MIN, H = timedelta(minutes=1), timedelta(hours=1)
TABLE = CallOut(take_within=10 * MIN, remind_every=H, urgent_within=12 * H)
AT_ONCE = TABLE.model_copy(update={"take_within": timedelta(0)})
NO_REMINDERS = TABLE.model_copy(update={"remind_every": timedelta(0)})


@pytest.mark.parametrize(
    ("more", "wakes"),
    [
        ({}, True),  # nobody knows when it is dry
        ({"dry_early": NOW + 12 * H}, True),
        ({"dry_early": NOW + 12 * H + MIN}, False),
        ({"dry_early": NOW - H}, True),
        ({"at_stake": False}, False),
        ({"reminders": 2}, True),
        ({"reminders": 3}, False),
        ({"kind": "ran-dry"}, True),
        ({"kind": "ran-dry", "state": "taken"}, False),  # gone already, and somebody knows
        ({"kind": "low", "state": "taken"}, True),
    ],
)
def test_what_breaks_quiet_hours(more, wakes):
    """Water that may be gone before the night is over; not the daily reminders, nor dry taps that somebody has."""
    assert presses(low(**more), TABLE, NOW) is wakes


@pytest.mark.parametrize(
    ("more", "table", "due"),
    [
        ({}, TABLE, [("next-turn", 10 * MIN), ("reminder", H)]),
        ({}, AT_ONCE, [("reminder", H)]),
        ({}, NO_REMINDERS, [("next-turn", 10 * MIN)]),
        ({"priority": "soon"}, TABLE, []),
        ({"turn": 0}, TABLE, [("next-turn", 15 * MIN), ("reminder", H)]),
        ({"turn": 0, "priority": "soon"}, TABLE, [("next-turn", 15 * MIN)]),
        ({"state": "unanswered"}, TABLE, [("reminder", H)]),
        ({"state": "unanswered", "reminders": 2}, TABLE, [("reminder", 4 * H)]),
        ({"state": "taken", "back_at": NOW + 3 * H}, TABLE, [("comes-back", 3 * H)]),
        ({"state": "open", "back_at": NOW + 3 * H}, AT_ONCE, [("reminder", H)]),
        ({"state": "taken"}, TABLE, []),
        (
            {"state": "taken", "warn_at": NOW + 2 * H, "back_at": NOW + 3 * H},
            TABLE,
            [("second-call", 2 * H), ("comes-back", 3 * H)],
        ),
        ({"priority": "soon", "warn_at": NOW + 2 * H}, TABLE, [("urgent", 2 * H)]),
        ({"state": "held", "warn_at": NOW + 2 * H}, TABLE, []),
        ({"state": "folded"}, TABLE, []),
        ({"state": "over", "back_at": NOW}, TABLE, []),
    ],
)
def test_what_is_due(more, table, due):
    """So long from now, of an alarm whose turn and reminder began now; the first of them comes next."""
    alarm = low(**more)
    assert sorted((step.what, step.at - NOW) for step in steps(alarm, table)) == sorted(due)
    first = next_step(alarm, table)
    assert (first and (first.what, first.at - NOW)) == min(due, key=lambda each: each[1], default=None)


@pytest.mark.parametrize(
    ("more", "take_within", "length"),
    [
        ({}, 10 * MIN, 10 * MIN),
        ({}, 0 * MIN, None),
        ({"priority": "soon"}, 10 * MIN, None),
        ({"turn": 0}, 10 * MIN, 15 * MIN),
        ({"turn": 0}, 20 * MIN, 20 * MIN),
        ({"turn": 0, "priority": "soon"}, 0 * MIN, 15 * MIN),
    ],
)
def test_how_long_a_turn_has(more, take_within, length):
    """Who had it before has a quarter of an hour at least; None where everyone is told at once."""
    assert turn_length(low(**more), TABLE.model_copy(update={"take_within": take_within})) == length


@pytest.mark.parametrize(
    ("every", "waits"),
    [
        (H, [H, 2 * H, 4 * H, 24 * H, 24 * H]),
        (10 * H, [10 * H, 20 * H, 24 * H, 24 * H]),
        (48 * H, [48 * H, 48 * H, 48 * H, 48 * H]),
    ],
)
def test_how_long_until_the_next_reminder(every, waits):
    """Twice as long each time, after the third one a day, and never sooner than configured."""
    table = TABLE.model_copy(update={"remind_every": every})
    assert [reminder_wait(low(reminders=count), table) for count in range(len(waits))] == waits
