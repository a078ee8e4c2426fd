"""A time as it is kept in JSON → the time."""

from datetime import datetime


def time_of(kept: str | None) -> datetime | None:
    """ISO 8601 with an offset → an aware time; None (or nothing written) stays None."""
    return datetime.fromisoformat(kept) if kept else None
