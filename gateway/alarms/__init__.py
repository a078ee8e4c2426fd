"""Alarms from raised to closed, and the call-outs about them: whom to notify, when, and whose turn is next."""

from gateway.alarms.alarm import Alarm, alarm_raised_by, is_urgent, key_closed_by
from gateway.alarms.call_out import CallOut, next_state
from gateway.alarms.turns import (
    Delivery,
    Notification,
    Step,
    Why,
    advance,
    close_alarm,
    due_at,
    raise_alarm,
    take_call_out,
)

__all__ = [
    "Alarm",
    "CallOut",
    "Delivery",
    "Notification",
    "Step",
    "Why",
    "advance",
    "alarm_raised_by",
    "close_alarm",
    "due_at",
    "is_urgent",
    "key_closed_by",
    "next_state",
    "raise_alarm",
    "take_call_out",
]
