"""The outbox and the limits → which message goes now, which are joined, which wait and until when.

One message is with the modem at a time. Urgent ones first, then the oldest. A contact gets at most `burst` messages in ten
minutes; when only one is left of that, and more wait than that, the rest is joined into one digest, urgent first. Beyond
`texts_per_day` only urgent ones leave, beyond `a_day_each` to one phone only new urgent alarms. Quiet hours hold what is not urgent,
joined when they end. What may have left already is never joined: it goes alone, so that it leaves marked. One contact's failures
delay nobody else: a message that waits for its next try simply is not due.

Clocks step. A hand-over that lies further ahead than the ten minutes is none; a wait longer than any rule gives began under
another clock, and is over.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.facts import Message
from gateway.outbox.after_sending import JITTER_SHARE, LONGEST_BACK_OFF

BURST_WINDOW = timedelta(minutes=10)
LONGEST_HOLD = timedelta(hours=26)
"""Quiet hours and the day's limit end within a day; a day of 25 hours, and one to spare."""

LONGEST_WAIT = LONGEST_BACK_OFF * (1 + JITTER_SHARE)
QuietUntil = Callable[[Message], datetime | None]
DayIsFull = Callable[[Message], bool]
"""Whether the message's phone got as many today as it may, and this one is no new urgent alarm."""


def _never_full(message: Message) -> bool:
    return False


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What to do now: send one, join several of one contact, hold some (with until when), wake again at."""

    send: Message | None = None
    join: tuple[Message, ...] = ()
    hold: tuple[tuple[Message, datetime], ...] = ()
    wake_at: datetime | None = None
    over_limit: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowance:
    """What may leave: `burst` in ten minutes each, `texts_per_day` segments in all, `sent_today` gone, `day_ends`."""

    burst: int
    texts_per_day: int
    sent_today: int
    day_ends: datetime


def choose(
    outbox: Sequence[Message],
    recent: Mapping[str, Sequence[datetime]],
    allowance: Allowance,
    quiet_until: QuietUntil,
    now: datetime,
    day_is_full: DayIsFull = _never_full,
) -> Choice:
    """The next thing to do; `recent`: number → when messages were handed over in the last ten minutes."""
    waiting = [message for message in outbox if message.state in ("waiting", "held", "unsure")]
    due = [message for message in waiting if _is_due(message, now)]
    later = (message.not_before for message in waiting if not _is_due(message, now))
    wakes = [not_before for not_before in later if not_before is not None]
    hold: list[tuple[Message, datetime]] = []
    free: list[Message] = []
    over_limit = False
    for message in due:
        until = None if message.urgent else quiet_until(message)
        if until is None and day_is_full(message):
            until = allowance.day_ends
        if until is None and _over_limit(message, allowance):
            until, over_limit = allowance.day_ends, True
        if until is None:
            free.append(message)
        else:
            hold.append((message, until))
            wakes.append(until)
    send, join, wake = _first_allowed(free, recent, allowance.burst, now)
    if wake is not None:
        wakes.append(wake)
    return Choice(send=send, join=join, hold=tuple(hold), wake_at=min(wakes, default=None), over_limit=over_limit)


def plainly_next(
    first: Message,
    recent: Mapping[str, Sequence[datetime]],
    allowance: Allowance,
    quiet_until: QuietUntil,
    now: datetime,
    day_is_full: DayIsFull = _never_full,
) -> bool:
    """Whether the first of the outbox, urgent ones before others and older before newer, goes now whatever else waits behind it."""
    if first.state not in ("waiting", "unsure") or not _is_due(first, now):
        return False
    left = allowance.burst - len(_gone_lately(first, recent, now))
    if day_is_full(first):
        return False
    return left > 1 and (first.urgent or (quiet_until(first) is None and not _over_limit(first, allowance)))


def _over_limit(message: Message, allowance: Allowance) -> bool:
    return not message.urgent and allowance.sent_today + message.segments > allowance.texts_per_day


def _gone_lately(message: Message, recent: Mapping[str, Sequence[datetime]], now: datetime) -> list[datetime]:
    """When its number got what counts against its burst."""
    return [at for at in recent.get(message.number, ()) if abs(now - at) < BURST_WINDOW]


def _is_due(message: Message, now: datetime) -> bool:
    if message.not_before is None or message.not_before <= now:
        return True
    longest = LONGEST_HOLD if message.state == "held" else LONGEST_WAIT
    return message.not_before - now > longest


def _first_allowed(
    free: Sequence[Message], recent: Mapping[str, Sequence[datetime]], burst: int, now: datetime
) -> tuple[Message | None, tuple[Message, ...], datetime | None]:
    """The first message whose contact may get one more; the messages to join; when a capped contact may again."""
    wake: datetime | None = None
    ordered = sorted(free, key=lambda message: (not message.urgent, message.at, message.id or 0))
    for message in ordered:
        times = _gone_lately(message, recent, now)
        left = burst - len(times)
        if left <= 0:
            again = min(times) + BURST_WINDOW
            wake = again if wake is None else min(wake, again)
            continue
        # what may have left already goes alone, so that it leaves marked
        together = () if message.possible_repeat else _together(message, ordered, left)
        return (None, together, wake) if len(together) > 1 else (message, (), wake)
    return None, (), wake


def _together(first: Message, ordered: Sequence[Message], left: int) -> tuple[Message, ...]:
    """What goes as one with that message: everything, when it is the last of the burst; else what the night held."""
    mine = [other for other in ordered if other.number == first.number and not other.possible_repeat]
    if left == 1:
        return tuple(mine)
    if first.state == "held":
        return tuple(other for other in mine if other.state == "held" and not other.urgent)
    return ()
