"""The present time → what is due by time: debounces, silence, asking, call-outs, pauses, parts, digests.

`next_due` answers when the next of these is due (cheap; no write); `act` does what is due and answers when to look again.
Verdicts over controllers wait until the modem works and its store was swept once: what lies unread on the SIM is heard first,
and while our own modem is away no silence of a controller is its fault.
"""

from collections.abc import Callable, Iterable, Iterator
from datetime import datetime

from gateway.handlers import callouts, chatter, controllers, gateway_health, gateway_life, weekly
from gateway.handlers.floats import debounces_due
from gateway.handlers.receive import overdue_parts
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.handlers.work import pauses_due
from gateway.inbox import clock_trusted
from gateway.inbox.join import WAIT_FOR_PARTS
from gateway.ports import Reader
from gateway.site import Site
from gateway.status import troubles
from gateway.status.silence import silence_dues
from gateway.tanks import FloatMemory, debounce_due


def next_due(reader: Reader, site: Site, now: datetime, *, verdicts: bool) -> datetime | None:
    """When something is next due; in the past or now: at once."""
    return min(_dues(reader, site, now, verdicts), default=None)


def act(unit: UnitOfWork, *, verdicts: bool) -> datetime | None:
    """Does what is due; when to look again."""
    for part in parts(verdicts=verdicts, trusted=unit.trusted):
        part(unit)
    return next_due(unit.tx, unit.site, unit.now, verdicts=verdicts)


def parts(*, verdicts: bool, trusted: bool) -> tuple[Callable[[UnitOfWork], object], ...]:
    """What `act` does, part by part, in order."""
    judging = (gateway_life.outage_told, controllers.judge_controllers) if verdicts else ()
    return (
        debounces_due,
        chatter.quiet_due,
        overdue_parts,
        pauses_due,
        *judging,
        callouts.due,
        weekly.due,
        gateway_health.due,
        gateway_life.clock_set if trusted else gateway_life.clock_unset,
    )


def _dues(reader: Reader, site: Site, now: datetime, verdicts: bool) -> Iterator[datetime]:
    yield from _present(_floats(reader, site, now))
    oldest = reader.oldest_part()
    if oldest is not None:
        yield oldest + WAIT_FOR_PARTS
    yield from (pause.until for pause in reader.pauses())
    yield from _present([callouts.next_due(reader, site, now), weekly.next_due(reader, site, now)])
    yield from gateway_health.dues(reader, now)
    if verdicts:
        yield from silence_dues(reader, site, now)
        if reader.mark("gateway:outage"):
            yield now
    if (troubles.trouble_since(reader, "clock-untrusted") is None) is not clock_trusted(now, None):
        yield now


def _floats(reader: Reader, site: Site, now: datetime) -> Iterator[datetime | None]:
    for placed in site.floats.values():
        memory = FloatMemory.from_json(reader.mark(placed.key))
        yield None if memory.pending is None else debounce_due(memory, now, placed.float.settle)
        yield chatter.next_due(reader, placed)


def _present(times: Iterable[datetime | None]) -> Iterator[datetime]:
    return (at for at in times if at is not None)
