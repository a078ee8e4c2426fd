"""What is wrong with the gateway itself, as the record and the machine say."""

from datetime import datetime, timedelta

from gateway.facts import Message, kinds_where
from gateway.facts.moments import time_of
from gateway.ports import Reader

LASTING = kinds_where(lambda kind: kind.lasts)
"""What begins and is over some day (`handlers.gateway_life.begin`, `end`)."""
URGENT_WAITS, OTHERS_WAIT = timedelta(hours=1), timedelta(hours=6)
LEAST_FREE_BYTES = 200 * 1024 * 1024
"""Room for a copy of a store that grew for years, and for the log; on a small disk a tenth of it."""
LEAST_FREE_SHARE = 0.1


def trouble_since(reader: Reader, kind: str) -> datetime | None:
    """When a trouble that is not over yet began; None: there is none of that kind."""
    return time_of(reader.mark(trouble_mark(kind)))


def troubles(reader: Reader) -> tuple[str, ...]:
    """The kinds of what is wrong with the gateway itself now, each of which began and is not over."""
    return tuple(kind for kind in LASTING if trouble_since(reader, kind) is not None)


def trouble_mark(kind: str) -> str:
    """Under which mark it is kept."""
    return f"gateway:{kind}"


def disk_wrong(free_bytes: int, total_bytes: int) -> bool:
    """Whether that is too little."""
    return free_bytes < least_free_bytes(total_bytes)


def least_free_bytes(total_bytes: int) -> float:
    """How much room the store's disk must have."""
    return min(LEAST_FREE_BYTES, LEAST_FREE_SHARE * total_bytes)


def stuck(reader: Reader, now: datetime) -> tuple[Message, ...]:
    """What waits for longer than a message should: an hour if it is urgent, else six. Quiet hours are no waiting."""
    waiting = ((one, waits_since(one, now)) for one in reader.outbox())
    return tuple(one for one, since in waiting if since is not None and now - since >= patience(one))


def patience(message: Message) -> timedelta:
    """How long it may wait."""
    return URGENT_WAITS if message.urgent else OTHERS_WAIT


def waits_since(message: Message, now: datetime) -> datetime | None:
    """From when on it should have left; None where it waits because somebody sleeps, or is with the modem at this moment."""
    if message.state != "held":
        return message.at
    return message.not_before if message.not_before is not None and message.not_before <= now else None
