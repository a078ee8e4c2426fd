"""What the store's tests keep in it."""

from datetime import UTC, datetime, timedelta

from gateway.facts import Event
from gateway.facts.alarms import Alarm

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


def event(kind="low", at=NOW, **more):
    """Something happened to the house tank."""
    return Event(
        kind=kind, at=at, heard_at=at, known_at=at, **{"tank": "house", "controller": "ridge", "input": "1", **more}
    )


def low(**more):
    """The house tank is low."""
    values = {"key": "low:house", "kind": "low", "tank": "house", "priority": "urgent", "since": NOW, "raised_at": NOW}
    return Alarm(**{**values, "round_at": NOW, "turn_at": NOW, "reminded_at": NOW, **more})
