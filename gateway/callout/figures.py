"""Events → how this household's alarms stand against published bounds.

An alarm is an event that asks somebody to do something (the urgent kinds). Bounds: ANSI/ISA-18.2-2016 tables 5 and 6 as restated
in public documents: six an hour are acceptable, twelve the most; ten in ten minutes begin a flood, fewer than five end it; under
1 % of the time in flood; none that chatters (three changes in a minute) for long; under five that stand longer than 24 hours.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.callout.kinds import ENDS, OPENS
from gateway.facts import URGENT_KINDS, Event

TEN_MINUTES = timedelta(minutes=10)
FLOOD_BEGINS, FLOOD_ENDS = 10, 5
STALE_AFTER = timedelta(hours=24)
LEAST_SPAN = timedelta(days=30)
SOURCE = "ANSI/ISA-18.2-2016, tables 5 and 6"


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmFigure:
    """One figure beside its bound; `ok` None where the bound is no bound but a hint."""

    name: str
    value: float
    bound: str
    ok: bool | None
    source: str = SOURCE


def alarm_figures(events: Sequence[Event], since: datetime, until: datetime) -> tuple[AlarmFigure, ...]:
    """The figures over that time."""
    alarms = [event for event in events if event.kind in URGENT_KINDS and since <= event.at <= until]
    hours = max((until - since) / timedelta(hours=1), 1e-9)
    times = [event.at for event in alarms]
    busiest = max((_within(times, at) for at in times), default=0)
    flooded = _flooded(times)
    chatter = sum(event.kind == "float-fault" for event in events if since <= event.at <= until)
    stale = _stale(events, until)
    days = hours / 24
    return (
        AlarmFigure(name="days looked at", value=round(days, 1), bound="30 or more", ok=days >= LEAST_SPAN.days),
        AlarmFigure(name="alarms an hour", value=round(len(alarms) / hours, 4), bound="6", ok=len(alarms) / hours <= 6),
        AlarmFigure(name="alarms a day", value=round(len(alarms) / days, 3), bound="150", ok=len(alarms) / days <= 150),
        AlarmFigure(name="most in ten minutes", value=busiest, bound="10", ok=busiest <= FLOOD_BEGINS),
        AlarmFigure(
            name="share of time in flood, %",
            value=round(100 * (flooded / (until - since)), 4) if until > since else 0.0,
            bound="under 1",
            ok=flooded < (until - since) * 0.01 if until > since else True,
        ),
        AlarmFigure(name="floats that chattered", value=chatter, bound="0", ok=chatter == 0),
        AlarmFigure(name="standing over 24 h now", value=stale, bound="under 5", ok=stale < 5),
    )


def _within(times: Sequence[datetime], start: datetime) -> int:
    return sum(start <= at < start + TEN_MINUTES for at in times)


def _flooded(times: Sequence[datetime]) -> timedelta:
    """How long floods lasted: from over ten in ten minutes until under five."""
    total, began = timedelta(0), None
    for at in times:
        count = sum(at - TEN_MINUTES < other <= at for other in times)
        if began is None and count > FLOOD_BEGINS:
            began = at
        elif began is not None and count < FLOOD_ENDS:
            total, began = total + (at - began), None
    if began is not None:
        total += times[-1] + TEN_MINUTES - began
    return total


def _stale(events: Sequence[Event], until: datetime) -> int:
    """Matters that stand open longer than a day."""
    open_since: dict[str, datetime] = {}
    for event in events:
        what = event.tank or event.controller or ""
        if event.kind in OPENS:
            open_since.setdefault(f"{OPENS[event.kind]}:{what}", event.at)
        elif event.kind in ENDS:
            open_since.pop(f"{ENDS[event.kind]}:{what}", None)
    return sum(until - at > STALE_AFTER for at in open_since.values())
