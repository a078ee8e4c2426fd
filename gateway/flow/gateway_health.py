"""The gateway's own state and the time → plain events: a weak signal, a disk nearly full, messages that cannot leave; each once.

Marks: `gateway:weak-since`, and the troubles' own (`gateway_life.begin`, `end`). Nothing is written while nothing happens.
Whether a figure is bad and when it is good again lie apart, so that nothing flutters.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from gateway.facts import Message
from gateway.facts.moments import time_of
from gateway.flow.gateway_life import begin, end, trouble_since
from gateway.flow.house import Moment
from gateway.gsm.signal import WEAK_PERCENT, WELL_PERCENT
from gateway.ports import Reader

LASTING = (
    "modem-lost",
    "sim-trouble",
    "signal-lost",
    "signal-weak",
    "clock-untrusted",
    "disk-low",
    "backup-failed",
    "outbox-waits",
    "credit-low",
    "credit-unread",
)
"""What begins and is over some day (`gateway_life.begin`, `end`)."""
WEAK_FOR = timedelta(minutes=10)
WEAK_SINCE = "gateway:weak-since"
URGENT_WAITS, OTHERS_WAIT = timedelta(hours=1), timedelta(hours=6)
LEAST_FREE_BYTES = 200 * 1024 * 1024
"""Room for a copy of a store that grew for years, and for the log; on a small disk a tenth of it."""
LEAST_FREE_SHARE = 0.1
FREE_AGAIN = 1.25


def due(moment: Moment) -> None:
    """What has become wrong, or right again."""
    _signal(moment)
    _outbox(moment)


def dues(reader: Reader, now: datetime) -> Iterator[datetime]:
    """When to look again."""
    yield from _signal_dues(reader, now)
    yield from _outbox_dues(reader, now)


def troubles(reader: Reader) -> tuple[str, ...]:
    """The kinds of what is wrong with the gateway itself now, each of which began and is not over."""
    return tuple(kind for kind in LASTING if trouble_since(reader, kind) is not None)


def disk_wrong(free_bytes: int, total_bytes: int) -> bool:
    """Whether that is too little."""
    return free_bytes < _least(total_bytes)


def disk(moment: Moment, free_bytes: int, total_bytes: int) -> None:
    """How much room the store's disk has."""
    if disk_wrong(free_bytes, total_bytes):
        begin(moment, "disk-low", {"free": f"{free_bytes / 1e6:.0f} MB"})
    elif free_bytes >= FREE_AGAIN * _least(total_bytes):
        end(moment, "disk-low", "disk-back", {"free": f"{free_bytes / 1e6:.0f} MB"})


def stuck(reader: Reader, now: datetime) -> tuple[Message, ...]:
    """What waits for longer than a message should: an hour if it is urgent, else six. Quiet hours are no waiting."""
    waiting = ((one, _waits_since(one, now)) for one in reader.outbox())
    return tuple(one for one, since in waiting if since is not None and now - since >= _patience(one))


def _least(total_bytes: int) -> float:
    return min(LEAST_FREE_BYTES, LEAST_FREE_SHARE * total_bytes)


def _signal(moment: Moment) -> None:
    percent, since = _percent(moment.tx), time_of(moment.tx.mark(WEAK_SINCE))
    if percent is None:
        return
    if percent >= WELL_PERCENT and since is not None:
        moment.tx.set_mark(WEAK_SINCE, None)
        end(moment, "signal-weak", "signal-good", {"percent": percent})
    elif percent < WEAK_PERCENT and (since is None or since > moment.now):
        moment.tx.set_mark(WEAK_SINCE, moment.now.isoformat())
    elif percent < WEAK_PERCENT and since is not None and moment.now - since >= WEAK_FOR:
        begin(moment, "signal-weak", {"percent": percent})


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


def _outbox(moment: Moment) -> None:
    late = stuck(moment.tx, moment.now)
    if late:
        since = min(one.at for one in late)
        begin(moment, "outbox-waits", {"count": str(len(late)), "since": since.isoformat()})
    else:
        end(moment, "outbox-waits", "outbox-moves", {})


def _outbox_dues(reader: Reader, now: datetime) -> Iterator[datetime]:
    waits = [since + _patience(one) for one in reader.outbox() if (since := _waits_since(one, now)) is not None]
    if trouble_since(reader, "outbox-waits") is None:
        yield from waits
    elif not any(at <= now for at in waits):
        yield now


def _patience(message: Message) -> timedelta:
    return URGENT_WAITS if message.urgent else OTHERS_WAIT


def _waits_since(message: Message, now: datetime) -> datetime | None:
    """From when on it should have left; None where it waits because somebody sleeps, or is with the modem at this moment."""
    if message.state != "held":
        return message.at
    return message.not_before if message.not_before is not None and message.not_before <= now else None
