"""The one door into the record, and the table of what follows which event.

An event is stored once; then its followers act, one after the other, each within the same transaction. What a follower learns it
returns as new events: they wait in a queue for their own turn, so that nothing calls itself round a circle.
"""

from collections import deque
from collections.abc import Callable, Iterable
from typing import NamedTuple

from gateway.facts import KINDS, Event, EventKind, kinds_where
from gateway.handlers.alarms import (
    advance_after_giving_up,
    call_the_watch,
    end_alarm,
    hold_alarms,
    release_alarms,
    take_alarms,
)
from gateway.handlers.away_draws import watch_draws
from gateway.handlers.forecasts_held import keep_whether_held
from gateway.handlers.level_watch import compare_with_floats, watch_night_flow
from gateway.handlers.moved_forecasts import reconsider_by_word, reconsider_forecasts
from gateway.handlers.notify import (
    notify,
    notify_if_active_still,
    notify_of_giving_up,
    notify_of_limit,
    notify_of_what_came,
    notify_of_what_left,
    notify_of_work,
    notify_of_work_over,
)
from gateway.handlers.notify_of_errands import notify_of_errand, notify_of_stop
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.handlers.weaker_supply import watch_supply

Follower = Callable[[UnitOfWork, Event], Iterable[Event] | None]


class Follows(NamedTuple):
    """Which kinds of event a follower follows. `untold`: also where nobody is to be told of the event."""

    follower: Follower
    kinds: tuple[EventKind, ...]
    untold: bool = False


FOLLOWERS = (
    Follows(end_alarm, kinds_where(lambda kind: kind.closes), untold=True),
    # raises an alarm, tells its end, or is one message to each who hears of its subject
    Follows(notify, kinds_where(lambda kind: (kind.opens or kind.priority != "record") and kind.name != "given-up")),
    Follows(reconsider_forecasts, kinds_where(lambda kind: "low" in (kind.opens, kind.closes))),
    # not that nobody is there: who is away comes back, and no second call is put off by it
    Follows(reconsider_by_word, ("people", "back", "draw-while-away")),
    Follows(watch_supply, ("high",)),
    Follows(keep_whether_held, ("high", "ran-dry")),
    Follows(watch_draws, ("low", "high-over", "level")),
    Follows(watch_night_flow, ("level",)),
    Follows(compare_with_floats, ("level",)),
    Follows(notify_if_active_still, ("float-quiet",)),
    Follows(take_alarms, ("taken",)),
    Follows(call_the_watch, ("watch-begun",)),
    Follows(hold_alarms, ("paused",)),
    Follows(notify_of_work, ("paused",)),
    Follows(notify_of_work_over, ("pause-over",)),
    Follows(release_alarms, ("pause-over",)),
    Follows(notify_of_giving_up, ("given-up",)),
    Follows(advance_after_giving_up, ("given-up",)),
    Follows(notify_of_limit, ("held-back",)),
    Follows(notify_of_errand, ("errand-answered", "errand-unexpected", "errand-unanswered", "errand-refused")),
    Follows(notify_of_stop, ("errand-stopped",)),
    Follows(notify_of_what_left, ("configuration-changed",)),
    Follows(notify_of_what_came, ("configuration-changed",)),
)
"""In the order in which they act. A kind that stands in no row is only kept."""

_ROWS_OF = {kind: tuple(row for row in FOLLOWERS if kind in row.kinds) for kind in KINDS}


def record_event(unit: UnitOfWork, event: Event, *, tell: bool = True, past: bool = False) -> Event:
    """Stores the event and lets its followers act. Returns it with its id.

    `tell`: whether anybody is to be told; what ends an alarm closes it all the same. `past`: it says nothing of the present, so that
    nothing follows. Nothing follows of an import either.
    """
    stored = unit.tx.keep_event(event)
    if past or unit.imported:
        return stored
    waiting = deque(((stored, tell),))
    while waiting:
        current, told = waiting.popleft()
        for row in _ROWS_OF[current.kind]:
            if told or row.untold:
                learnt = row.follower(unit, current) or ()
                waiting.extend((unit.tx.keep_event(new), True) for new in learnt)
    return stored
