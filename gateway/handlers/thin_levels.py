"""Levels older than four hundred days → one a day is left, with the day's sums in it: ten years of hours weigh what ten years of days do.

The texts themselves stay, tied to the level that is left. Days are the site's own. What was done is remembered: each day is looked at once.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from gateway.facts import Event
from gateway.facts.states.gateway_itself import LevelsThinned
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import Reader
from gateway.status.levels import day_of_levels

KEPT_WHOLE = timedelta(days=400)
DAY = timedelta(days=1)
MOST_DAYS = 200
"""In one go: a transaction must not hold up what comes in."""


def levels_to_thin(reader: Reader, now: datetime) -> tuple[datetime, datetime] | None:
    """(from when, up to when) levels are old enough and not thinned yet; None: none are."""
    done, first = reader.state(LevelsThinned), reader.first_event_at()
    start = done.until if done is not None else first
    end = now - KEPT_WHOLE
    if start is None or end - start < DAY:
        return None
    return start, min(end, start + MOST_DAYS * DAY)


def thin_levels(unit: UnitOfWork) -> int:
    """Thins what is old enough, whole days only; how many events went."""
    span = levels_to_thin(unit.tx, unit.now)
    if span is None:
        return 0
    start = span[0].astimezone(unit.site.zone).replace(hour=0, minute=0, second=0, microsecond=0)
    gone = 0
    while start + DAY <= span[1]:
        gone += _thin_day(unit, start, start + DAY)
        start += DAY  # a local day: the clock's change is within the zone's own arithmetic
    unit.tx.set_state(LevelsThinned(until=start))
    return gone


def _thin_day(unit: UnitOfWork, start: datetime, end: datetime) -> int:
    of_day = unit.tx.events(kinds=("level",), since=start, until=end - timedelta(microseconds=1))
    gone = 0
    for gauge in {(event.tank, event.controller, event.input) for event in of_day}:
        gone += _thin_gauge(unit, [event for event in of_day if (event.tank, event.controller, event.input) == gauge])
    return gone


def _thin_gauge(unit: UnitOfWork, levels: Sequence[Event]) -> int:
    """The newest that counts stays, with the sums of them all."""
    sums = day_of_levels(levels)
    counting = [event for event in levels if "doubt" not in event.detail and "level_m" in event.detail]
    kept = (counting or list(levels))[-1]
    if kept.id is None or len(levels) < 2:
        return 0
    unit.tx.change_event(kept.id, kept.kind, {**kept.detail, **({"day": sums} if sums is not None else {})})
    for event in levels:
        if event.id is not None and event.id != kept.id:
            unit.tx.replace_event(event.id, kept.id)
    return len(levels) - 1
