"""An event → the alarm it raises or closes: something that should be dealt with, of one tank, one controller or the gateway."""

from dataclasses import dataclass

from gateway.facts import KINDS, URGENT_KINDS, Event
from gateway.settings.models import CallOut as CallOutTable

GATEWAY = "gateway"


@dataclass(frozen=True, slots=True, kw_only=True)
class Alarm:
    """What a call-out is about. `key`: `low:house`, its family and whose it is; `kind`, `event`: the newest that told of it."""

    key: str
    kind: str
    event: int

    @property
    def about(self) -> str:
        """The id of the tank or controller, or `gateway`."""
        return self.key.partition(":")[2]

    @property
    def is_closed_by_an_event(self) -> bool:
        """Whether some later event says that it is over; else it is over once somebody has it."""
        return KINDS[self.kind].opens is not None


def alarm_raised_by(event: Event) -> Alarm:
    """The alarm of an urgent event. A kind that belongs to no family, which a household may call urgent, is one by itself."""
    family = KINDS[event.kind].opens or event.kind
    return Alarm(key=_key(family, event), kind=event.kind, event=event.id or 0)


def key_closed_by(event: Event) -> str | None:
    """The key of the alarm that an event says is over; None where it says that of none."""
    family = KINDS[event.kind].closes
    return None if family is None else _key(family, event)


def is_urgent(kind: str, table: CallOutTable) -> bool:
    """Whether it opens a call-out and breaks quiet hours."""
    return kind in (URGENT_KINDS if table.urgent is None else table.urgent)


def _key(family: str, event: Event) -> str:
    return f"{family}:{event.tank or event.controller or GATEWAY}"
