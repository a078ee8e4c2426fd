"""A message, how its sending ended, and now → its next step."""

from gateway.outbox.after_sending import Change, after_report, after_send, at_start
from gateway.outbox.quiet_hours import LANDLINE_QUIET, quiet_until
from gateway.outbox.report_match import match_report
from gateway.outbox.send_join_or_hold import Allowance, Choice, choose

__all__ = [
    "LANDLINE_QUIET",
    "Allowance",
    "Change",
    "Choice",
    "after_report",
    "after_send",
    "at_start",
    "choose",
    "match_report",
    "quiet_until",
]
