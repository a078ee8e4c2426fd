"""Last heard, and now → overdue, ask, or fine."""

from gateway.heartbeats.controller_verdict import Verdict, judge
from gateway.heartbeats.silence_cause import Why, why_silent
from gateway.heartbeats.silence_limit import learnt_limit

__all__ = ["Verdict", "Why", "judge", "learnt_limit", "why_silent"]
