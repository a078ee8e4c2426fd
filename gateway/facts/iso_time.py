"""A time as JSON has it."""

from datetime import datetime, tzinfo


def iso_time(at: datetime | None, zone: tzinfo) -> str | None:
    """ISO 8601 with the zone's offset."""
    return at.astimezone(zone).isoformat() if at else None
