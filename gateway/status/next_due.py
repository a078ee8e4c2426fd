"""The record and now → when the gateway must next do something by itself. Cheap: it is asked after every value of the queue.

What is then done stands in `handlers.due`; what goes by the calendar (the weekly message, backups) in `service.calendar_jobs`.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime

from gateway.alarms.float_chatter import over_at
from gateway.facts.states.gateway_itself import ClockEvidence, Outage
from gateway.inbox import clock_standing
from gateway.inbox.joined_parts import WAIT_FOR_PARTS
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.alarm_rounds import next_alarm_due
from gateway.status.drill import drill_dues
from gateway.status.dry_taps import dry_taps_dues
from gateway.status.errands import errand_dues
from gateway.status.float_ends import reckoned_end_dues
from gateway.status.float_memory import chatter_of, float_memory
from gateway.status.gateway_troubles import signal_dues, trouble_since
from gateway.status.presence import presence_dues
from gateway.status.quiet_gauges import quiet_gauge_dues
from gateway.status.silence import silence_dues
from gateway.status.undelivered import delivery_dues
from gateway.status.waiting import outbox_dues
from gateway.status.walk import walk_dues
from gateway.status.watch import watch_dues
from gateway.tanks import debounce_due


def next_due(reader: Reader, site: Site, now: datetime, *, verdicts: bool) -> datetime | None:
    """When something is next due; in the past or now: at once. `verdicts`: controllers may be judged now."""
    return min(_dues(reader, site, now, verdicts), default=None)


def _dues(reader: Reader, site: Site, now: datetime, verdicts: bool) -> Iterator[datetime]:
    yield from _present(_float_dues(reader, site, now))
    yield from reckoned_end_dues(reader, site, now)
    oldest = reader.oldest_part()
    if oldest is not None:
        yield oldest + WAIT_FOR_PARTS
    yield from (pause.until for pause in reader.pauses())
    alarms = reader.alarms()
    yield from _present([next_alarm_due(reader, site, now, alarms)])
    yield from dry_taps_dues(reader, alarms, now)
    yield from errand_dues(reader, site, now)
    yield from drill_dues(reader, site, now)
    yield from walk_dues(reader, now)
    yield from watch_dues(reader)
    yield from presence_dues(reader)
    yield from signal_dues(reader, now)
    yield from outbox_dues(reader, now)
    yield from delivery_dues(reader, site, now)
    if verdicts:
        yield from silence_dues(reader, site, now)
        yield from quiet_gauge_dues(reader, site, now)
        if reader.state(Outage) is not None:
            yield now
    verdict = clock_standing(now, reader.state(ClockEvidence)).verdict
    if verdict != "doubtful" and (verdict == "right") is not (trouble_since(reader, "clock-untrusted") is None):
        yield now


def _float_dues(reader: Reader, site: Site, now: datetime) -> Iterator[datetime | None]:
    for placed in site.floats.values():
        memory = float_memory(reader, placed)
        yield None if memory.pending is None else debounce_due(memory, now, placed.float.settle)
        episode = chatter_of(reader, placed)
        yield None if episode is None else over_at(episode)


def _present(times: Iterable[datetime | None]) -> Iterator[datetime]:
    return (at for at in times if at is not None)
