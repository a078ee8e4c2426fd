"""The likely cause and when it is dry → the one thing to do."""

from datetime import datetime, timedelta

from gateway.facts import Cause
from gateway.settings.models import Settings
from gateway.settings.water_tables import Tank
from gateway.water.dry_time import Times


def advice(cause: Cause | None, times: Times | None, now: datetime, tank: Tank, settings: Settings) -> str | None:
    """The one thing to do: keep air out if it is soon dry, else what the cause asks for."""
    if cause is None:
        return None
    feeds_house = all(tank.id not in other.fed_by for other in settings.tanks)
    if feeds_house and times is not None and times[0] - now < timedelta(hours=6) and cause.kind != "float-fault":
        return "close-house-valve"
    return {
        "supply-stopped": "look-at-intake",
        "blocked-between": "look-at-pipe-between",
        "heavy-draw": "find-leak",
        "float-fault": "read-float",
        "unclear": "look-at-intake",
    }[cause.kind]
