"""The outbox and the limits → which message goes now, which are joined, which wait and until when.

One message is with the modem at a time. Urgent ones first, then the oldest. A contact gets at most `burst` messages in ten
minutes; when only one is left of that, and more wait than that, the rest is joined into one digest, urgent first. Beyond
`texts_per_day` only urgent ones leave. Quiet hours hold what is not urgent, joined when they end. One contact's failures delay nobody else: a
message that waits for its next try simply is not due.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.facts import Message

BURST_WINDOW = timedelta(minutes=10)
QuietUntil = Callable[[Message], datetime | None]


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
    """What may leave: `burst` in ten minutes each, `texts_per_day` in all with `sent_today` gone and `day_ends`."""

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
) -> Choice:
    """The next thing to do; `recent`: number → when messages were handed over in the last ten minutes."""
    waiting = [one for one in outbox if one.state in ("waiting", "held", "unsure")]
    due = [one for one in waiting if one.not_before is None or one.not_before <= now]
    wakes = [one.not_before for one in waiting if one.not_before is not None and one.not_before > now]
    hold: list[tuple[Message, datetime]] = []
    free: list[Message] = []
    over_limit = False
    for one in due:
        until = None if one.urgent else quiet_until(one)
        if until is None and not one.urgent and allowance.sent_today + one.segments > allowance.texts_per_day:
            until, over_limit = allowance.day_ends, True
        if until is None:
            free.append(one)
        else:
            hold.append((one, until))
            wakes.append(until)
    send, join, wake = _first_allowed(free, recent, allowance.burst, now)
    if wake is not None:
        wakes.append(wake)
    return Choice(send=send, join=join, hold=tuple(hold), wake_at=min(wakes, default=None), over_limit=over_limit)


def _first_allowed(
    free: Sequence[Message], recent: Mapping[str, Sequence[datetime]], burst: int, now: datetime
) -> tuple[Message | None, tuple[Message, ...], datetime | None]:
    """The first message whose contact may get one more; the messages to join; when a capped contact may again."""
    wake: datetime | None = None
    ordered = sorted(free, key=lambda one: (not one.urgent, one.at, one.id or 0))
    for one in ordered:
        times = [at for at in recent.get(one.number, ()) if now - at < BURST_WINDOW]
        left = burst - len(times)
        if left <= 0:
            again = min(times) + BURST_WINDOW
            wake = again if wake is None else min(wake, again)
            continue
        mine = [other for other in ordered if other.number == one.number]
        if left == 1 and len(mine) > 1:
            return None, tuple(mine), wake
        kept = [other for other in mine if other.state == "held" and not other.urgent]
        if one.state == "held" and len(kept) > 1:
            return None, tuple(kept), wake
        return one, (), wake
    return None, (), wake
