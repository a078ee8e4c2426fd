"""An event, the contacts, and now → who is told, when, and who is next."""

from gateway.alarms.kinds import Matter, ended_by, is_urgent, matter_of, subject_of
from gateway.alarms.state import CallOut, next_state
from gateway.alarms.steps import Step, Tell, due, matter_over, open_or_join, take, tick

__all__ = [
    "CallOut",
    "Matter",
    "Step",
    "Tell",
    "due",
    "ended_by",
    "is_urgent",
    "matter_of",
    "matter_over",
    "next_state",
    "open_or_join",
    "subject_of",
    "take",
    "tick",
]
