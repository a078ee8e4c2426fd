"""A box's own time of day against the network's stamp → how far its clock has drifted."""

from datetime import datetime, time, timedelta, tzinfo

HALF_A_DAY = timedelta(hours=12)
DAY = timedelta(days=1)


def drift(clock: time, stamp: datetime, zone: tzinfo) -> timedelta:
    """How much the box is ahead (negative: behind) of the local time at which the network took its text; never more than half a day,
    for a time of day says nothing of the date."""
    local = stamp.astimezone(zone)
    said = datetime.combine(local.date(), clock, tzinfo=local.tzinfo)
    ahead = said.replace(tzinfo=None) - local.replace(tzinfo=None)
    if not clock.second:  # it says whole minutes: within its minute it is right
        ahead += min(timedelta(seconds=local.second, microseconds=local.microsecond), timedelta(minutes=1))
    return (ahead + HALF_A_DAY) % DAY - HALF_A_DAY
