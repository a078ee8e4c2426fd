"""A controller → how long it may be silent: its own limit, its learnt rhythm, or None for off."""

from datetime import datetime, timedelta

from gateway.heartbeats.rhythm import learnt_limit
from gateway.ports import Reader
from gateway.settings.models import Controller

RHYTHM_TEXTS = 200


def limit_of(reader: Reader, controller: Controller, *, known_by: datetime | None = None) -> timedelta | None:
    """The silence limit in force."""
    if controller.silence_after == "auto":
        return learnt_limit(reader.heard_times(controller.id, limit=RHYTHM_TEXTS, known_by=known_by))
    return controller.silence_after
