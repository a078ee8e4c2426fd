"""The record → how the household's MQTT broker is reached: whether it is, since when, what it took last and what waits for it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.facts import Event
from gateway.facts.states.gateway_itself import MqttLinkSeen, MqttPublished
from gateway.ports import Reader

COUNTED = 1000
"""Events that wait are counted up to here: more is "more than a thousand" to anybody."""
TAKEN_WITHIN = timedelta(minutes=2)
"""A broker that works takes an event in a second; one that hangs is noticed by its keep-alive (60 s) after a minute and a half."""
NO_LIBRARY = "the library for it is not installed: sudo deploy/install --mqtt"


@dataclass(frozen=True, slots=True, kw_only=True)
class BrokerSeen:
    """`link`: None, it was not tried yet. `waiting`: events not acknowledged yet, `oldest` the first of them; `taken_at`: the last that was."""

    link: MqttLinkSeen | None
    waiting: int
    oldest: datetime | None
    taken_at: datetime | None

    def hangs(self, now: datetime) -> bool:
        """It is reached, as far as the line tells, and takes nothing."""
        return self.oldest is not None and now - self.oldest > TAKEN_WITHIN


def broker_seen(reader: Reader) -> BrokerSeen:
    """As the daemon left it on record."""
    published = reader.state(MqttPublished)
    # before the first connection nothing is news to it
    waiting = news(reader.events_after(published.event, limit=COUNTED)) if published is not None else []
    return BrokerSeen(
        link=reader.state(MqttLinkSeen),
        waiting=len(waiting),
        oldest=waiting[0].heard_at if waiting else None,
        taken_at=published.at if published is not None else None,
    )


def news(events: Iterable[Event]) -> list[Event]:
    """Without the old texts that were imported: they are history, and happened long before."""
    return [event for event in events if event.known_at == event.heard_at]
