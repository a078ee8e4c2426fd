"""A delivery report and the segments that left with its reference → which of them it speaks of, or none.

A reference has eight bits and comes again after 256 messages, sooner on modems that count otherwise, and always on those that give every
message the same. What tells two reports apart is the stamp that the service centre gave the segment when it took it: it stands in every
report of that segment, and in no other's. So a stamp that was matched before speaks of the same segment again (still trying, then delivered;
or the same twice, which says nothing new). A new one speaks of a segment that had no report yet, taken by the centre about when we handed
it over. Where several could be meant, the nearest counts if it is clearly the nearest; else the report counts for nothing: a message that is
not known to have arrived is told to the next, one that is wrongly known to have arrived is told to nobody.

Source: 3GPP TS 23.040 9.2.2.3 (TP-MR, TP-SCTS, TP-DT), 9.2.3.6, 3.2.9.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from gateway.facts import Report
from gateway.ports import SentSegment

OPEN = ("", "trying")
CLOCKS_APART = timedelta(minutes=15)
"""So far our clock and the network's may be apart, and so long a modem may take to say that a message left."""
ZONE_STEP, ZONE_SLACK, LARGEST_ZONE = timedelta(minutes=30), timedelta(minutes=3), timedelta(hours=14)
"""Some networks stamp in another zone than they say."""
CLEARLY_NEARER = timedelta(seconds=30)


def match_report(report: Report, segments: Sequence[SentSegment], *, trusted: bool) -> SentSegment | None:
    """The segment that the report speaks of. `trusted`: our clock is right, so that times may be held against each other."""
    if report.stamp is not None:
        known = [segment for segment in segments if segment.stamp == report.stamp]
        if known:
            return next((segment for segment in known if segment.outcome in OPEN), None)
    unreported = [segment for segment in segments if segment.outcome in OPEN and segment.stamp is None]
    candidates = [segment for segment in unreported if not trusted or _may_be_meant(segment, report)]
    messages = {segment.message for segment in candidates}
    if len(messages) > 1:
        nearest = _clearly_nearest(candidates, report.stamp) if trusted else None
        candidates = [segment for segment in candidates if segment.message == nearest]
    return next(iter(candidates), None)


def _may_be_meant(segment: SentSegment, report: Report) -> bool:
    """Whether it was handed over before the report's times, as far as clocks and zones can be trusted."""
    times = [time for time in (report.stamp, report.discharged) if time is not None]
    return (
        not times or max(times) >= segment.at - CLOCKS_APART or any(_off_by_a_zone(time - segment.at) for time in times)
    )


def _off_by_a_zone(apart: timedelta) -> bool:
    steps = round(apart / ZONE_STEP)
    return abs(apart) <= LARGEST_ZONE + ZONE_SLACK and abs(apart - steps * ZONE_STEP) <= ZONE_SLACK


def _clearly_nearest(candidates: Sequence[SentSegment], stamp: datetime | None) -> int | None:
    """The message whose segment was handed over nearest to the stamp, if no other's was about as near."""
    if stamp is None:
        return None
    apart: dict[int, timedelta] = {}
    for segment in candidates:
        gap = abs(segment.at - stamp)
        apart[segment.message] = min(gap, apart.get(segment.message, gap))
    (nearest, gap), (_, next_gap) = sorted(apart.items(), key=lambda item: item[1])[:2]
    return nearest if gap <= CLOCKS_APART and next_gap - gap >= CLEARLY_NEARER else None
