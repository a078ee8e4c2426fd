"""A network's time stamp and our own clock → when it happened.

In: the stamp (aware or None), when the gateway heard it, whether our clock is trusted. Out: aware UTC datetimes.
A stamp is evidence, never proof: one from years away is kept with the text but moves nothing (fault 33).
"""

from datetime import UTC, datetime, timedelta

from gateway.inbox.repeats import REPEAT_WITHIN

CLOCK_FLOOR = datetime(2026, 1, 1, tzinfo=UTC)
"""No text of this program can be older than the program: a board clock before this was never set (fault 30)."""

OLDEST_STAMP = timedelta(days=60)
"""A SIM keeps a text for as long as nobody reads it; longer than this the gateway is hardly ever off."""

CLOCK_SKEW = timedelta(minutes=15)
"""How far a network's clock may run ahead of ours and still be believed (common practice)."""

OVERTAKING = timedelta(days=1)
"""By how much texts of one sender may overtake each other (common practice: a centre tries again for hours)."""


def clock_trusted(now: datetime, newest_known: datetime | None) -> bool:
    """Whether the wall clock can be right: past the program's own year, and not before what is already on record."""
    return now >= CLOCK_FLOOR and (newest_known is None or now >= newest_known - timedelta(days=1))


def believable(stamp: datetime | None, heard_at: datetime, *, trusted: bool = True) -> bool:
    """Whether the stamp can be when it happened."""
    if stamp is None:
        return False
    if not trusted:
        return _can_be_real(stamp)
    return heard_at - OLDEST_STAMP <= stamp <= heard_at + CLOCK_SKEW


def happened_at(
    stamp: datetime | None, heard_at: datetime, *, trusted: bool = True, came_before: bool = False
) -> datetime:
    """The stamp when it is believable, else the time it was heard; never in the future of a trusted clock.

    `came_before`: a text with the same octets, and so with the same stamp, came earlier and is no repeat.
    """
    if stamp is None or not believable(stamp, heard_at, trusted=trusted):
        return heard_at
    # A stamp that stands still: by it a box that texts each hour would be silent. Within the minutes in which a centre
    # that stamps whole minutes gives two texts one stamp it may well be right, and keeps them in order.
    if came_before and trusted and heard_at - stamp > REPEAT_WITHIN:
        return heard_at
    return min(stamp, heard_at) if trusted else stamp


def latest_possible(at: datetime, now: datetime, *, trusted: bool) -> datetime:
    """The latest time that anything on record can have when a text of that time is read.

    Whatever is remembered for later is the work of a wrong clock or an absurd stamp. While our own clock is not trusted only the
    text tells what time it is; another one that overtook it may be some hours newer.
    """
    return now if trusted else max(now, at + OVERTAKING)


def _can_be_real(stamp: datetime) -> bool:
    return CLOCK_FLOOR <= stamp < CLOCK_FLOOR + timedelta(days=365 * 40)
