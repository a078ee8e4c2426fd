"""The gateway's own state and the time → plain events: a weak signal, a disk nearly full, messages that cannot leave; each once.

Marks: `gateway:weak-since`, and the troubles' own (`gateway_life.begin`, `end`). Nothing is written while nothing happens.
Whether a figure is bad and when it is good again lie apart, so that nothing flutters.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from gateway.facts.moments import time_of
from gateway.gsm.signal import WEAK_PERCENT, WELL_PERCENT
from gateway.handlers.gateway_life import begin, end
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import Reader
from gateway.status.troubles import disk_wrong, least_free_bytes, patience, stuck, trouble_since, waits_since

WEAK_FOR = timedelta(minutes=10)
WEAK_SINCE = "gateway:weak-since"
FREE_AGAIN = 1.25


def due(unit: UnitOfWork) -> None:
    """What has become wrong, or right again."""
    _signal(unit)
    _outbox(unit)


def dues(reader: Reader, now: datetime) -> Iterator[datetime]:
    """When to look again."""
    yield from _signal_dues(reader, now)
    yield from _outbox_dues(reader, now)


def disk(unit: UnitOfWork, free_bytes: int, total_bytes: int) -> None:
    """How much room the store's disk has."""
    if disk_wrong(free_bytes, total_bytes):
        begin(unit, "disk-low", {"free": f"{free_bytes / 1e6:.0f} MB"})
    elif free_bytes >= FREE_AGAIN * least_free_bytes(total_bytes):
        end(unit, "disk-low", "disk-back", {"free": f"{free_bytes / 1e6:.0f} MB"})


def _signal(unit: UnitOfWork) -> None:
    percent, since = _percent(unit.tx), time_of(unit.tx.mark(WEAK_SINCE))
    if percent is None:
        return
    if percent >= WELL_PERCENT and since is not None:
        unit.tx.set_mark(WEAK_SINCE, None)
        end(unit, "signal-weak", "signal-good", {"percent": percent})
    elif percent < WEAK_PERCENT and (since is None or since > unit.now):
        unit.tx.set_mark(WEAK_SINCE, unit.now.isoformat())
    elif percent < WEAK_PERCENT and since is not None and unit.now - since >= WEAK_FOR:
        begin(unit, "signal-weak", {"percent": percent})


def _signal_dues(reader: Reader, now: datetime) -> Iterator[datetime]:
    percent, since = _percent(reader), time_of(reader.mark(WEAK_SINCE))
    if percent is None:
        return
    if (percent >= WELL_PERCENT and since is not None) or (percent < WEAK_PERCENT and (since is None or since > now)):
        yield now
    elif percent < WEAK_PERCENT and since is not None and trouble_since(reader, "signal-weak") is None:
        yield since + WEAK_FOR


def _percent(reader: Reader) -> float | None:
    condition: dict[str, Any] = reader.mark("gateway:condition") or {}
    return condition.get("signal_percent")


def _outbox(unit: UnitOfWork) -> None:
    late = stuck(unit.tx, unit.now)
    if late:
        since = min(one.at for one in late)
        begin(unit, "outbox-waits", {"count": str(len(late)), "since": since.isoformat()})
    else:
        end(unit, "outbox-waits", "outbox-moves", {})


def _outbox_dues(reader: Reader, now: datetime) -> Iterator[datetime]:
    waits = [since + patience(one) for one in reader.outbox() if (since := waits_since(one, now)) is not None]
    if trouble_since(reader, "outbox-waits") is None:
        yield from waits
    elif not any(at <= now for at in waits):
        yield now
