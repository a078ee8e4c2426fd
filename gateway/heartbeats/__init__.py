"""Last heard, and now → overdue, ask, or fine."""

from gateway.heartbeats.explain import explain_silence
from gateway.heartbeats.rhythm import learnt_limit
from gateway.heartbeats.verdict import Verdict, judge

__all__ = ["Verdict", "explain_silence", "judge", "learnt_limit"]
