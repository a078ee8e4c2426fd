"""An event's kind → its subject, whether it is urgent, and which alarm it opens or ends."""

from collections.abc import Mapping
from dataclasses import dataclass

from gateway.facts import URGENT_KINDS, Event, Subject
from gateway.settings.models import CallOut as CallOutTable

TANK_KINDS = frozenset(
    {
        "low",
        "low-over",
        "high",
        "high-over",
        "ran-dry",
        "supply-weaker",
        "float-fault",
        "float-quiet",
        "paused",
        "pause-over",
    }
)
CONTROLLER_KINDS = frozenset(
    {"silent", "heard-again", "power-lost", "power-back", "battery-low", "battery-back", "unread", "reading", "alive"}
)
OPENS: Mapping[str, str] = {
    "low": "low",
    "ran-dry": "low",
    "high": "high",
    "silent": "silence",
    "power-lost": "power",
    "battery-low": "battery",
}
ENDS: Mapping[str, str] = {
    "low-over": "low",
    "high-over": "high",
    "heard-again": "silence",
    "power-back": "power",
    "battery-back": "battery",
}
OPENS_IF_URGENT: Mapping[str, str] = {
    "modem-lost": "modem",
    "sim-trouble": "sim",
    "signal-lost": "signal",
    "store-trouble": "store",
    "clock-untrusted": "clock",
    "float-fault": "float",
    "signal-weak": "weak",
    "disk-low": "disk",
    "outbox-waits": "outbox",
    "credit-low": "credit",
    "backup-failed": "backup",
}
"""Alarms only of a household that counts these kinds as urgent (`call_out.urgent`)."""

ENDS_IF_URGENT: Mapping[str, str] = {
    "modem-back": "modem",
    "sim-back": "sim",
    "signal-back": "signal",
    "store-back": "store",
    "clock-set": "clock",
    "float-quiet": "float",
    "signal-good": "weak",
    "disk-back": "disk",
    "outbox-moves": "outbox",
    "credit-back": "credit",
    "backup-back": "backup",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Alarm:
    """What a call-out is about: one tank's or controller's trouble. `event` is the newest event that told of it."""

    key: str
    kind: str
    event: int

    @property
    def ends_by_itself(self) -> bool:
        """Whether some later event says that it is over; else it is over once somebody has it."""
        return self.kind in OPENS or self.kind in OPENS_IF_URGENT


def subject_of(kind: str) -> Subject:
    """Which `about` an event answers to."""
    if kind in TANK_KINDS:
        return "tanks"
    return "controllers" if kind in CONTROLLER_KINDS else "gateway"


def is_urgent(kind: str, table: CallOutTable) -> bool:
    """Whether it opens a call-out and breaks quiet hours."""
    return kind in (URGENT_KINDS if table.urgent is None else frozenset(table.urgent))


def alarm_of(event: Event) -> Alarm:
    """The alarm an urgent event opens."""
    family = OPENS.get(event.kind) or OPENS_IF_URGENT.get(event.kind, event.kind)
    return Alarm(key=f"{family}:{event.tank or event.controller or 'gateway'}", kind=event.kind, event=event.id or 0)


def ended_by(event: Event) -> str | None:
    """The key of the alarm an event ends."""
    family = ENDS.get(event.kind) or ENDS_IF_URGENT.get(event.kind)
    return None if family is None else f"{family}:{event.tank or event.controller or 'gateway'}"
