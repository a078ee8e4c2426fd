"""An errand under way, where its text stands in the outbox, and now → what comes next of it.

    ordered → (sent → (answered | answered otherwise | sent again | not answered) | refused)

Answers come as texts and are judged as they come; here is what time brings. An errand that has not left within five minutes is taken
back: whoever ordered it then may be gone, and a pump that starts an hour later than somebody wished starts beside whoever stands
there by then. The gateway's own asking is not taken back: it moves nothing, and without it a silence would be told that is none.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from gateway.facts import OutState
from gateway.facts.states.errands_and_tests import ErrandUnderWay

LEAVES_WITHIN = timedelta(minutes=5)
Course = Literal["wait", "again", "no-answer", "unexpected", "refused", "take-back"]
"""`again`: another try leaves. `take-back`: it has not left, and shall not any more; it is refused then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Next:
    """What to do now; `due`: when to look again if that is to wait (None: only news can change it)."""

    course: Course
    due: datetime | None = None


def next_step(
    under_way: ErrandUnderWay, outbox: OutState | None, *, within: timedelta, tries: int, expects: bool, now: datetime
) -> Next:
    """`outbox`: the state of its message there; `within`, `tries`: as the errand has them; `expects`: whether any answer is expected."""
    if under_way.sent_at is None:
        return _before_it_left(under_way, outbox, now)
    if not expects:
        return Next(course="no-answer")
    # a wait that lies further ahead than it can was begun by a clock that was set back since
    until = min(under_way.sent_at, now) + within
    if now < until:
        return Next(course="wait", due=until)
    if under_way.other is not None:
        return Next(course="unexpected")
    return Next(course="again" if under_way.tries < tries else "no-answer")


def _before_it_left(under_way: ErrandUnderWay, outbox: OutState | None, now: datetime) -> Next:
    if outbox is None or outbox == "failed":
        return Next(course="refused")
    if outbox == "sending" or under_way.own:
        return Next(course="wait")
    until = min(under_way.put_at, now) + LEAVES_WITHIN
    return Next(course="wait", due=until) if now < until else Next(course="take-back")
