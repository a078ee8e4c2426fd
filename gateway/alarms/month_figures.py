"""Alarms and who was told of them → figures for a house, month by month: how often it rings, at night, unanswered, how long until an OK.

A control room's bounds (`published_bounds`) are of operators who do nothing else; a household is held to none but what it can bear itself.
What a month's figure cannot know (no OK came, no message arrived as far as the network says) is None, and is not taken for nought.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median

from gateway.facts.alarms import Alarm, AlarmState, Telling, TellingWhy

RINGS: frozenset[TellingWhy] = frozenset({"first", "worse"})
"""By these an alarm calls somebody of its own accord."""
UNANSWERED: frozenset[AlarmState] = frozenset({"unanswered", "reckoned-over", "over"})
"""In these nobody is asked any more whose answer is only a matter of time."""
NIGHT_BEGINS_HOUR, NIGHT_ENDS_HOUR = 22, 6
"""A household's night by the clock on its wall (common practice)."""
MOST_RINGING = 3
WEEK = timedelta(days=7)
MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthFigures:
    """One month. `ok_min`, `delivered_min`: medians, in minutes; the latter from when a contact was to be told until that arrived.

    `ringing`: the keys of the alarms that came most, each with how often. `unanswered`: urgent ones that called somebody, and that nobody
    took until they ended, or until the last turn had passed.
    """

    month: str
    alarms: int
    a_week: float
    at_night: int
    urgent: int
    unanswered: int
    ok_min: float | None
    delivered_min: Mapping[str, float]
    ringing: tuple[tuple[str, int], ...]


def month_figures(
    alarms: Iterable[Alarm],
    tellings: Mapping[int, Sequence[Telling]],
    local: Callable[[datetime], datetime],
    until: datetime,
) -> tuple[MonthFigures, ...]:
    """By the local month in which each was raised, the oldest first. What rang nowhere does not count: what was only for the record,
    was held from its first moment until it was over, or only changed the words of its cause.
    """
    by_month: defaultdict[str, list[Alarm]] = defaultdict(list)
    for alarm in alarms:
        if alarm.priority != "record" and any(telling.why in RINGS for telling in tellings.get(alarm.number, ())):
            by_month[f"{local(alarm.raised_at):%Y-%m}"].append(alarm)
    return tuple(_of_month(month, by_month[month], tellings, local, until) for month in sorted(by_month))


def _of_month(
    month: str,
    alarms: Sequence[Alarm],
    tellings: Mapping[int, Sequence[Telling]],
    local: Callable[[datetime], datetime],
    until: datetime,
) -> MonthFigures:
    urgent = [alarm for alarm in alarms if alarm.priority == "urgent"]
    to_ok = [
        (at - alarm.raised_at) / MINUTE
        for alarm in urgent
        if (at := _first_taken(alarm, tellings[alarm.number])) is not None
    ]
    often = Counter(alarm.key for alarm in alarms)
    return MonthFigures(
        month=month,
        alarms=len(alarms),
        a_week=round(len(alarms) / max(_length_within(month, local, until) / WEEK, 1), 2),
        at_night=sum(is_night(local(alarm.raised_at)) for alarm in alarms),
        urgent=len(urgent),
        unanswered=sum(_went_unanswered(alarm, tellings[alarm.number]) for alarm in urgent),
        ok_min=round(median(to_ok), 1) if to_ok else None,
        delivered_min=_delivered_min(alarms, tellings),
        ringing=tuple(sorted(often.items(), key=lambda item: (-item[1], item[0]))[:MOST_RINGING]),
    )


def _first_taken(alarm: Alarm, tellings: Iterable[Telling]) -> datetime | None:
    """When somebody took it first, whatever became of it then; None: nobody did."""
    return min((telling.at for telling in tellings if telling.why == "took"), default=alarm.taken_at)


def _went_unanswered(alarm: Alarm, tellings: Sequence[Telling]) -> bool:
    """Somebody was called by a message that left, and nobody took it."""
    called = any(telling.why in RINGS and telling.handed_at is not None for telling in tellings)
    return called and alarm.state in UNANSWERED and _first_taken(alarm, tellings) is None


def _delivered_min(alarms: Sequence[Alarm], tellings: Mapping[int, Sequence[Telling]]) -> dict[str, float]:
    """Contact → the median from when a message was written until it arrived; nobody to whom none did, or of whom the network does not say."""
    waits: defaultdict[str, list[float]] = defaultdict(list)
    for alarm in alarms:
        for telling in tellings.get(alarm.number, ()):
            if telling.delivered_at is not None:
                waits[telling.contact].append(max(telling.delivered_at - telling.at, timedelta(0)) / MINUTE)
    return {contact: round(median(minutes), 1) for contact, minutes in sorted(waits.items())}


def _length_within(month: str, local: Callable[[datetime], datetime], until: datetime) -> timedelta:
    """How much of the month has passed; the whole of one that is over."""
    begins = local(until).replace(
        year=int(month[:4]), month=int(month[5:]), day=1, hour=0, minute=0, second=0, microsecond=0
    )
    ends = (begins + timedelta(days=32)).replace(day=1)
    return max(min(ends, local(until)) - begins, MINUTE)


def is_night(local: datetime) -> bool:
    """Whether people sleep then."""
    return local.hour >= NIGHT_BEGINS_HOUR or local.hour < NIGHT_ENDS_HOUR
