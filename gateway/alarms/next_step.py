"""An alarm and the household's times → what comes next by time alone, and when."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from gateway.facts.alarms import Alarm
from gateway.settings.people_tables import CallOut as CallOutTable

What = Literal["next-turn", "reminder", "comes-back", "second-call", "urgent", "work-over", "reckoned-over"]
"""`urgent`: by then the forecast may make it urgent. `reckoned-over`: by then it is over by reckoning, if nobody says so before."""

AT_ONCE = timedelta(0)
DAY = timedelta(days=1)
DOUBLED = 3
"""So many reminders come each after twice the wait of the one before; from then on there is one a day."""

ON_WATCH = -1
"""The turn of who has the watch, before all others."""
ASKED_FIRST = 0
"""The turn of who had it before; those of the configuration begin at one."""
ASKED_FIRST_WITHIN = timedelta(minutes=15)
"""So long who has the watch, or had it before, is asked alone, at least: long enough to be woken, found and answered from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NextStep:
    """What happens at that time if nobody does anything before."""

    what: What
    at: datetime


def presses(alarm: Alarm, table: CallOutTable, now: datetime) -> bool:
    """Whether what is said again of it breaks quiet hours: water may be gone before the night is over, or nobody knows when.

    The daily reminders wait for the morning all the same: whoever they would wake has been reminded three times. So does what somebody
    has where the taps are dry: the water is gone, and who has it knows.
    """
    if alarm.state == "taken" and alarm.kind == "ran-dry":
        return False
    soon = alarm.dry_early is None or alarm.dry_early - now <= table.urgent_within
    return alarm.at_stake and soon and alarm.reminders < DOUBLED


def next_step(alarm: Alarm, table: CallOutTable) -> NextStep | None:
    """The first of what is due; None: nothing more comes by itself. An alarm that is held moves when the work is over."""
    return min(steps(alarm, table), key=lambda step: step.at, default=None)


def steps(alarm: Alarm, table: CallOutTable) -> list[NextStep]:
    """Everything that is due by time alone."""
    if not alarm.stands_by_itself:
        return []
    found: list[NextStep] = []
    if alarm.warn_at is not None:
        what: What = "second-call" if alarm.priority == "urgent" else "urgent"
        found.append(NextStep(what=what, at=alarm.warn_at))
    if alarm.state == "taken" and alarm.back_at is not None:
        found.append(NextStep(what="comes-back", at=alarm.back_at))
    length = turn_length(alarm, table)
    if alarm.state == "open" and length is not None:
        found.append(NextStep(what="next-turn", at=alarm.turn_at + length))
    if alarm.state != "taken" and alarm.priority == "urgent" and table.remind_every > AT_ONCE:
        found.append(NextStep(what="reminder", at=alarm.reminded_at + reminder_wait(alarm, table)))
    return found


def turn_length(alarm: Alarm, table: CallOutTable) -> timedelta | None:
    """How long the turn that was reached has; None where no other follows: everyone is told at once."""
    if alarm.turn <= ASKED_FIRST:
        return max(table.take_within, ASKED_FIRST_WITHIN)
    return table.take_within if alarm.priority == "urgent" and table.take_within > AT_ONCE else None


def reminder_wait(alarm: Alarm, table: CallOutTable) -> timedelta:
    """Twice as long each time, and after the third once a day."""
    longest = max(DAY, table.remind_every)
    return longest if alarm.reminders >= DOUBLED else min(table.remind_every * 2**alarm.reminders, longest)
