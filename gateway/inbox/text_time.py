"""A text's network stamp, its arrival, our own clock → what time the text has, and what is doubtful about that.

A stamp is evidence, never proof: one from years away is kept with the text but moves nothing (fault 33). What a box sent last is what came last:
where its stamps run back, its centre's zone is off by hours, summer time came late, or a second centre is behind; so a text that came
last is not taken for history on its stamp alone (fault 61), unless that is further back than any zone can be off: then it is late (fault 66).
The table of it stands in DEVELOPERS.md.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.facts import TimeDoubt
from gateway.facts.states.people import SenderStamps
from gateway.inbox.clock_trust import APART, CLOCK_FLOOR, CLOCK_SKEW, PROGRAM_ENDS, SAME_OFFSET, ClockStanding
from gateway.inbox.repeats import REPEAT_WITHIN

OLDEST_STAMP = timedelta(days=60)
"""A SIM keeps a text for as long as nobody reads it; longer than this the gateway is hardly ever off."""

ZONES = timedelta(hours=15)
"""So far a stamp's zone can be off, summer time included (zones go from 12 hours behind UTC to 14 ahead)."""

RIGHT_CLOCK = ClockStanding()


@dataclass(frozen=True, slots=True, kw_only=True)
class TextTime:
    """When it happened, what is doubtful about it, and what is known of the sender's stamps after it."""

    at: datetime
    doubt: TimeDoubt | None
    stamps: SenderStamps


def time_of_text(
    stamp: datetime | None,
    heard_at: datetime,
    *,
    clock: ClockStanding = RIGHT_CLOCK,
    before: SenderStamps | None = None,
    came_before: bool = False,
    overtaken: bool = False,
) -> TextTime:
    """`heard_at`: when it came, by our clock. `before`: of the text that the sender's last one was. `came_before`: the same octets did, and
    this is no repeat. `overtaken`: it came before that text, and only its other parts were waited for."""
    arrival = clock.network_time(heard_at)
    if arrival is None:
        at, doubt = _by_stamps_alone(stamp, heard_at, before)
    else:
        at, doubt = _by_clock(stamp, heard_at, arrival, clock, before, came_before)
    if overtaken and stamp is not None:
        at, doubt = min(at, stamp), "late"
    return TextTime(at=at, doubt=doubt, stamps=_after(before, stamp, heard_at, at, doubt))


def believable(stamp: datetime | None, heard_at: datetime) -> bool:
    """Whether the stamp can be when it happened, by a clock that is right."""
    return stamp is not None and heard_at - OLDEST_STAMP <= stamp <= heard_at + CLOCK_SKEW


def latest_possible(at: datetime, now: datetime, *, trusted: bool) -> datetime:
    """The latest time that anything on record can have when a text of that time is read.

    Whatever is remembered for later is the work of a wrong clock or an absurd stamp. While our own clock is not trusted only the
    text tells what time it is; another one of a centre in another zone may be some hours newer.
    """
    return now if trusted else max(now, at + ZONES)


def _by_clock(
    stamp: datetime | None,
    heard_at: datetime,
    arrival: datetime,
    clock: ClockStanding,
    before: SenderStamps | None,
    came_before: bool,
) -> tuple[datetime, TimeDoubt | None]:
    """`arrival`: when it came, by a clock that is right (or was put right)."""
    if stamp is None:
        return arrival, "no-stamp"
    if not believable(stamp, arrival):
        return arrival, "ahead" if stamp > arrival else "too-old"
    lag = arrival - stamp
    # A stamp that stands still: by it a box that texts each hour would be silent. Within the minutes in which a centre
    # that stamps whole minutes gives two texts one stamp it may well be right, and keeps them in order.
    if _stands_still(stamp, heard_at, before) or (came_before and lag > REPEAT_WITHIN):
        return arrival, "stands-still"
    if before is not None:
        back = before.newest - stamp if before.newest is not None else timedelta(0)
        backwards = back > timedelta(0)
        # by the stamps among each other: a clock of ours that is a day ahead makes every text a day old
        if back > ZONES and before.newest is not None and before.newest <= arrival + CLOCK_SKEW:
            return stamp, "late"
        if not backwards and clock.confirmed and lag > REPEAT_WITHIN and _lags_alike(lag, heard_at, before):
            return arrival, "shifted"
        if backwards or stamp < before.at:
            return arrival, "runs-back"
    return min(stamp, arrival), None


def _by_stamps_alone(
    stamp: datetime | None, heard_at: datetime, before: SenderStamps | None
) -> tuple[datetime, TimeDoubt | None]:
    """Nothing says how far our clock is off."""
    passed = _since(before, heard_at)
    if stamp is None or not CLOCK_FLOOR <= stamp < PROGRAM_ENDS:
        return passed or heard_at, "clock"
    if before is not None and passed is not None and stamp < before.at and before.at - stamp <= ZONES:
        return passed, "runs-back"
    return stamp, None


def _stands_still(stamp: datetime, heard_at: datetime, before: SenderStamps | None) -> bool:
    return before is not None and stamp == before.last and heard_at - before.heard_at > REPEAT_WITHIN


def _lags_alike(lag: timedelta, heard_at: datetime, before: SenderStamps) -> bool:
    """The text before was as late to the minute: its centre's clock is off, for no queue is so even."""
    if before.last is None or heard_at - before.heard_at < APART:
        return False
    return abs(lag - (before.heard_at - before.last)) <= SAME_OFFSET


def _since(before: SenderStamps | None, heard_at: datetime) -> datetime | None:
    """The time of the sender's text before, and what went by since by our clock, if that was not set meanwhile."""
    if before is None:
        return None
    passed = heard_at - before.heard_at
    return before.at + (passed if timedelta(0) <= passed <= OLDEST_STAMP else timedelta(0))


def _after(
    before: SenderStamps | None, stamp: datetime | None, heard_at: datetime, at: datetime, doubt: TimeDoubt | None
) -> SenderStamps:
    if before is not None and doubt == "late":
        return before
    believed = doubt in (None, "runs-back", "shifted", "stands-still")
    newest = stamp if believed else before.newest if before is not None else None
    still = before is not None and stamp is not None and stamp == before.last
    return SenderStamps(
        newest=newest, last=stamp, heard_at=before.heard_at if before is not None and still else heard_at, at=at
    )
