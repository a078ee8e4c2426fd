"""An event's kind → its subject, whether it is urgent, and which alarm it opens or ends."""

from dataclasses import dataclass

from gateway.facts import KINDS, URGENT_KINDS, Event, Subject
from gateway.settings.models import CallOut as CallOutTable


@dataclass(frozen=True, slots=True, kw_only=True)
class Alarm:
    """What a call-out is about: one tank's or controller's trouble. `event` is the newest event that told of it."""

    key: str
    kind: str
    event: int

    @property
    def ends_by_itself(self) -> bool:
        """Whether some later event says that it is over; else it is over once somebody has it."""
        return KINDS[self.kind].opens is not None


def subject_of(kind: str) -> Subject:
    """Which `about` an event answers to."""
    return KINDS[kind].subject


def is_urgent(kind: str, table: CallOutTable) -> bool:
    """Whether it opens a call-out and breaks quiet hours."""
    return kind in (URGENT_KINDS if table.urgent is None else frozenset(table.urgent))


def alarm_of(event: Event) -> Alarm:
    """The alarm an urgent event opens."""
    family = KINDS[event.kind].opens or event.kind
    return Alarm(key=f"{family}:{event.tank or event.controller or 'gateway'}", kind=event.kind, event=event.id or 0)


def ended_by(event: Event) -> str | None:
    """The key of the alarm an event ends."""
    family = KINDS[event.kind].closes
    return None if family is None else f"{family}:{event.tank or event.controller or 'gateway'}"
