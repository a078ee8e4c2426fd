"""What is wrong with the gateway itself, as the record and the machine say, and when that must be looked at again."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from gateway.facts import kinds_where
from gateway.facts.states.gateway_itself import ModemCondition, Trouble, WeakSignal
from gateway.gsm.signal_strength import WEAK_PERCENT, WELL_PERCENT
from gateway.ports import Reader

LASTING = kinds_where(lambda kind: kind.lasts)
"""What begins and is over some day (`handlers.gateway_health.begin_trouble`, `end_trouble`)."""
WEAK_FOR = timedelta(minutes=10)
LEAST_FREE_BYTES = 200 * 1024 * 1024
"""Room for a copy of a store that grew for years, and for the log; on a small disk a tenth of it."""
LEAST_FREE_SHARE = 0.1


def troubles(reader: Reader) -> tuple[str, ...]:
    """The kinds of what is wrong with the gateway itself now, each of which began and is not over."""
    return tuple(kind for kind in LASTING if trouble_since(reader, kind) is not None)


def trouble_since(reader: Reader, kind: str) -> datetime | None:
    """When a trouble that is not over yet began; None: there is none of that kind."""
    trouble = reader.state(Trouble, kind)
    return trouble.since if trouble is not None else None


def stopped_since(reader: Reader, now: datetime) -> datetime | None:
    """When the gateway was stopped; None: it started since, or nobody stopped it (one that was cut off put nothing on record)."""
    last = reader.last_event(("gateway-started", "gateway-stopped"), known_by=now)
    return last.at if last is not None and last.kind == "gateway-stopped" else None


def signal_percent(reader: Reader) -> float | None:
    """What the modem said last of its signal; None: it said nothing."""
    condition = reader.state(ModemCondition)
    return condition.signal_percent if condition is not None else None


def weak_since(reader: Reader) -> datetime | None:
    """Since when the signal has been weak; None: it is not, or that was not noticed yet."""
    weak = reader.state(WeakSignal)
    return weak.since if weak is not None else None


def signal_dues(reader: Reader, now: datetime) -> Iterator[datetime]:
    """When a weak signal must be looked at; bad and good again lie apart, so that nothing flutters."""
    percent, since = signal_percent(reader), weak_since(reader)
    if percent is None:
        return
    well_again = percent >= WELL_PERCENT and since is not None
    newly_weak = percent < WEAK_PERCENT and (since is None or since > now)
    if well_again or newly_weak:
        yield now
    elif percent < WEAK_PERCENT and since is not None and trouble_since(reader, "signal-weak") is None:
        yield since + WEAK_FOR


def disk_wrong(free_bytes: int, total_bytes: int) -> bool:
    """Whether the store's disk has too little room."""
    return free_bytes < least_free_bytes(total_bytes)


def least_free_bytes(total_bytes: int) -> float:
    """How much room the store's disk must have."""
    return min(LEAST_FREE_BYTES, LEAST_FREE_SHARE * total_bytes)
