"""Events → how this household's alarms stand against published bounds.

An alarm is an event that asks somebody to do something (the urgent kinds); anything else is a log entry. Bounds:
ANSI/ISA-18.2-2016 tables 5 and 6 as restated in public documents: six an hour are acceptable and twelve the most (150 and 300 a
day); at most ten in any ten minutes, and over ten in fewer than one in a hundred ten-minute periods; over ten in ten minutes
begin a flood, fewer than five end it, and floods take under 1 % of the time; under five that stand longer than 24 hours on any
day; none that chatters (three changes in a minute); judged over 30 days or more.

Rates, and shares of the time, are what an operator at a console can deal with who does nothing else: a household that had 150 alarms a
day would be within them. What one can read in ten minutes, what nobody deals with for a day and what chatters is the same for anybody.
"""

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.alarms.float_chatter import FAST_CHANGES, FAST_WITHIN
from gateway.facts import KINDS, URGENT_KINDS, Event, kinds_where

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
TEN_MINUTES = timedelta(minutes=10)
FLOOD_BEGINS, FLOOD_ENDS = 10, 5
"""A flood begins at more than the first and ends at fewer than the second, in ten minutes."""

STALE_AFTER = timedelta(hours=24)
LEAST_SPAN = timedelta(days=30)
SOURCE = "ANSI/ISA-18.2-2016, tables 5 and 6"
SWITCHES = frozenset(kinds_where(lambda kind: kind.switch))
URGENT_FAMILIES = frozenset(KINDS[kind].opens for kind in URGENT_KINDS)


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmFigure:
    """One figure beside its bound. `for_a_house`: whether the bound says anything of people who have other things to do than watch alarms."""

    name: str
    value: float
    bound: str
    ok: bool
    for_a_house: bool
    source: str = SOURCE


def alarm_figures(
    events: Sequence[Event], since: datetime, until: datetime, urgent: Collection[str] = URGENT_KINDS
) -> tuple[AlarmFigure, ...]:
    """The figures over that time, as a control room's are judged.

    `events` may begin earlier, so that what stood open then is known; part of an hour counts as one.
    """
    ordered = sorted((event for event in events if event.at <= until), key=lambda event: event.at)
    times = [event.at for event in ordered if event.kind in urgent and event.at >= since]
    span = max(until - since, timedelta(seconds=1))
    hourly, daily = len(times) / max(span / HOUR, 1), len(times) / max(span / DAY, 1)
    busy, periods = _busy_periods(times, since, span)
    flooded = 100 * (flood_time(times, until) / span)
    peak = max((_until_then(times, at) for at in times), default=0)
    chatters = len(_chattering(ordered, since))
    stale = most_stale_on_a_day(ordered, since, until)
    return (
        _figure("days looked at", span / DAY, "30 or more", span >= LEAST_SPAN),
        _figure("alarms an hour", hourly, "6 to 12", hourly <= 6, for_a_house=False),
        _figure("alarms a day", daily, "150 to 300", daily <= 150, for_a_house=False),
        _figure("most in ten minutes", peak, "at most 10", peak <= FLOOD_BEGINS),
        _figure("10-min periods over 10, %", 100 * busy / periods, "under 1", busy < 0.01 * periods, for_a_house=False),
        _figure("time in floods, %", flooded, "under 1", flooded < 1, for_a_house=False),
        _figure("floats that chattered", chatters, "0", chatters == 0),
        _figure("over 24 h old, on one day", stale, "under 5", stale < 5),
    )


def flood_time(times: Sequence[datetime], until: datetime) -> timedelta:
    """How long floods lasted: from the alarm that makes more than ten in ten minutes until fewer than five are left."""
    total, began = timedelta(0), None
    for at in sorted({*times, *(at + TEN_MINUTES for at in times)}):
        count = _until_then(times, at)
        if began is None and count > FLOOD_BEGINS:
            began = at
        elif began is not None and count < FLOOD_ENDS:
            total, began = total + (min(at, until) - began), None
    return total


def most_stale_on_a_day(events: Sequence[Event], since: datetime, until: datetime) -> int:
    """Most alarms on any (UTC) day that had stood open for longer than 24 hours then."""
    days: Counter[int] = Counter()
    for opened, ended in _alarms(events, until):
        first, last = max(opened + STALE_AFTER, since), min(ended, until)
        if first < last:
            days.update(range(first.toordinal(), last.toordinal() + 1))
    return max(days.values(), default=0)


def _alarms(events: Sequence[Event], until: datetime) -> Iterator[tuple[datetime, datetime]]:
    """From when until when each alarm stood open."""
    open_since: dict[str, datetime] = {}
    for event in events:
        kind = KINDS.get(event.kind)
        family = kind and (kind.opens or kind.closes)
        if kind is None or family not in URGENT_FAMILIES:
            continue
        key = f"{family}:{event.tank or event.controller or ''}"
        if kind.opens is not None:
            open_since.setdefault(key, event.at)
        elif key in open_since:
            yield open_since.pop(key), event.at
    for at in open_since.values():
        yield at, until


def _chattering(events: Sequence[Event], since: datetime) -> set[tuple[str | None, ...]]:
    """Floats with three changes in a minute."""
    changes: defaultdict[tuple[str | None, ...], list[datetime]] = defaultdict(list)
    for event in events:
        if event.kind in SWITCHES and event.at >= since:
            changes[(event.tank, event.controller, event.input)].append(event.at)
    return {
        which
        for which, times in changes.items()
        for first, last in zip(times, times[FAST_CHANGES - 1 :], strict=False)  # the second is shorter by design
        if last - first <= FAST_WITHIN
    }


def _busy_periods(times: Sequence[datetime], since: datetime, span: timedelta) -> tuple[int, int]:
    """How many ten-minute periods, laid end to end from `since`, have more than ten alarms; and of how many."""
    filled = Counter((at - since) // TEN_MINUTES for at in times)
    return sum(count > FLOOD_BEGINS for count in filled.values()), max(-(-span // TEN_MINUTES), 1)


def _until_then(times: Sequence[datetime], at: datetime) -> int:
    """How many there were in the ten minutes before `at`, itself included (ordered times)."""
    return bisect_right(times, at) - bisect_right(times, at - TEN_MINUTES)


def _figure(name: str, value: float, bound: str, ok: bool, *, for_a_house: bool = True) -> AlarmFigure:
    return AlarmFigure(name=name, value=round(value, 3), bound=bound, ok=ok, for_a_house=for_a_house)
