"""An event, the contacts, and now → who is told, when, and who is next."""

from gateway.alarms.kinds import Alarm, alarm_of, ended_by, is_urgent, subject_of
from gateway.alarms.state import CallOut, next_state
from gateway.alarms.steps import Step, Tell, alarm_over, due, open_or_join, take, tick

__all__ = [
    "Alarm",
    "CallOut",
    "Step",
    "Tell",
    "alarm_of",
    "alarm_over",
    "due",
    "ended_by",
    "is_urgent",
    "next_state",
    "open_or_join",
    "subject_of",
    "take",
    "tick",
]
