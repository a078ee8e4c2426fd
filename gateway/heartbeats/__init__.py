"""Last heard, and now → overdue, ask, or fine."""

from gateway.heartbeats.explain import Why, explain_silence, why_silent
from gateway.heartbeats.rhythm import learnt_limit
from gateway.heartbeats.verdict import Verdict, judge

__all__ = ["Verdict", "Why", "explain_silence", "judge", "learnt_limit", "why_silent"]
