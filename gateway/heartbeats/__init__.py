"""When a controller was heard → its rhythm, how long it may be silent, whether its texts get rarer; and now → overdue, ask, or fine."""

from gateway.heartbeats.controller_verdict import Verdict, judge
from gateway.heartbeats.rhythm import Rhythm, learn_rhythm
from gateway.heartbeats.silence_cause import Why, why_silent
from gateway.heartbeats.silence_limit import false_alarms_a_year, learnt_limit, silence_limit
from gateway.heartbeats.texts_rarer import watch_losses

__all__ = [
    "Rhythm",
    "Verdict",
    "Why",
    "false_alarms_a_year",
    "judge",
    "learn_rhythm",
    "learnt_limit",
    "silence_limit",
    "watch_losses",
    "why_silent",
]
