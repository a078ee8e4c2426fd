"""The messages of the outbox → until when their contact's quiet hours hold them, and which wait for longer than they should."""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from typing import Literal

from gateway.facts import Message
from gateway.outbox import LANDLINE_QUIET, quiet_until
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.gateway_troubles import trouble_since
from gateway.status.watch import on_watch

NIGHT = LANDLINE_QUIET
"""Who is not on watch is told outside these hours only."""
URGENT_WAITS, OTHERS_WAIT = timedelta(hours=1), timedelta(hours=6)


def leaves_when(reader: Reader, site: Site, message: Message, now: datetime) -> Literal["now", "held"]:
    """`now`, or `held` where the contact's quiet hours hold the message."""
    return "held" if not message.urgent and quiet_for(reader, site, now)(message) is not None else "now"


def quiet_for(reader: Reader, site: Site, now: datetime) -> Callable[[Message], datetime | None]:
    """Until when a message is held by its contact's quiet hours at that time (None: it is not); while somebody has the watch, all others are
    told by day only."""

    def until(message: Message) -> datetime | None:
        contact = site.contacts.get(message.contact or "")
        if contact is None:
            return None
        watch = on_watch(reader, site, now)
        spared = watch is not None and watch.contact.id != contact.id
        quiet = (contact.quiet, LANDLINE_QUIET if contact.line == "landline" else "", NIGHT if spared else "")
        return max((end for hours in quiet if (end := quiet_until(hours, site.zone, now))), default=None)

    return until


def stuck(reader: Reader, now: datetime) -> tuple[Message, ...]:
    """The messages that wait for longer than they should: an hour if urgent, else six. Quiet hours are no waiting."""
    waiting = ((message, waits_since(message, now)) for message in reader.outbox())
    return tuple(message for message, since in waiting if since is not None and now - since >= patience(message))


def outbox_dues(reader: Reader, now: datetime) -> Iterator[datetime]:
    """When messages that cannot leave must be looked at."""
    waits = [
        since + patience(message) for message in reader.outbox() if (since := waits_since(message, now)) is not None
    ]
    if trouble_since(reader, "outbox-waits") is None:
        yield from waits
    elif not any(at <= now for at in waits):
        yield now


def patience(message: Message) -> timedelta:
    """How long the message may wait."""
    return URGENT_WAITS if message.urgent else OTHERS_WAIT


def waits_since(message: Message, now: datetime) -> datetime | None:
    """From when on the message should have left; None where it waits because somebody sleeps."""
    first_sending = message.state == "sending" and message.tries == 0
    if first_sending and message.not_before is not None:
        return (
            message.not_before
        )  # held till then: without this each night's quiet ended with messages that "wait and cannot leave"
    if message.state != "held":
        return message.at
    return message.not_before if message.not_before is not None and message.not_before <= now else None
