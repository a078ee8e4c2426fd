"""A message, how its sending ended, and now → its next step."""

from gateway.outbox.choose import Allowance, Choice, choose
from gateway.outbox.outcome import Change, after_report, after_send, at_start
from gateway.outbox.quiet import LANDLINE_QUIET, quiet_until

__all__ = [
    "LANDLINE_QUIET",
    "Allowance",
    "Change",
    "Choice",
    "after_report",
    "after_send",
    "at_start",
    "choose",
    "quiet_until",
]
