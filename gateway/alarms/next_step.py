"""An alarm and the household's times → what comes next by time alone, and when."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from gateway.facts.alarms import Alarm
from gateway.settings.models import CallOut as CallOutTable

What = Literal["next-turn", "reminder", "comes-back", "second-call", "work-over"]

AT_ONCE = timedelta(0)
DAY = timedelta(days=1)
DOUBLED = 3
"""So many reminders come each after twice the wait of the one before; from then on there is one a day."""

ASKED_FIRST_WITHIN = timedelta(minutes=15)
"""How long who had it before is asked alone, where the household tells everyone at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NextStep:
    """What happens at that time if nobody does anything before."""

    what: What
    at: datetime


def next_step(alarm: Alarm, table: CallOutTable) -> NextStep | None:
    """The first of what is due; None: nothing more comes by itself. An alarm that is held moves when the work is over."""
    return min(steps(alarm, table), key=lambda step: step.at, default=None)


def steps(alarm: Alarm, table: CallOutTable) -> list[NextStep]:
    """Everything that is due by time alone."""
    if alarm.state not in ("open", "unanswered", "taken"):
        return []
    found: list[NextStep] = []
    if alarm.warn_at is not None:
        found.append(NextStep(what="second-call", at=alarm.warn_at))
    if alarm.state == "taken" and alarm.back_at is not None:
        found.append(NextStep(what="comes-back", at=alarm.back_at))
    if alarm.state != "taken" and alarm.priority == "urgent":
        length = turn_length(alarm, table)
        if alarm.state == "open" and length is not None:
            found.append(NextStep(what="next-turn", at=alarm.turn_at + length))
        if table.remind_every > AT_ONCE:
            found.append(NextStep(what="reminder", at=alarm.reminded_at + reminder_wait(alarm, table)))
    return found


def turn_length(alarm: Alarm, table: CallOutTable) -> timedelta | None:
    """How long the turn that was reached has; None where everyone is told at once."""
    if table.take_within > AT_ONCE:
        return table.take_within
    return ASKED_FIRST_WITHIN if alarm.turn == 0 else None


def reminder_wait(alarm: Alarm, table: CallOutTable) -> timedelta:
    """Twice as long each time, and after the third once a day."""
    longest = max(DAY, table.remind_every)
    return longest if alarm.reminders >= DOUBLED else min(table.remind_every * 2**alarm.reminders, longest)
