"""The store's place → how much room its disk has; looked at every ten minutes, told when it is too little."""

import shutil
from datetime import datetime, timedelta
from pathlib import Path

from gateway.settings.models import Settings

EVERY = timedelta(minutes=10)


class Disk:
    """When it was last looked at."""

    def __init__(self) -> None:
        self._looked: datetime | None = None

    def due(self, now: datetime) -> datetime:
        """When to look next; a stepped clock only brings it nearer."""
        return now if self._looked is None or self._looked > now else self._looked + EVERY

    def look(self, settings: Settings, now: datetime) -> tuple[int, int] | None:
        """(free, total) bytes."""
        self._looked = now
        return room(settings)


def store_folder(settings: Settings) -> Path | None:
    """Where the store's file lies; None where it is a server's."""
    url = settings.store.url
    return Path(url.removeprefix("sqlite:///")).parent if url.startswith("sqlite:///") else None


def room(settings: Settings) -> tuple[int, int] | None:
    """(free, total) bytes of the store's disk; None where that is not ours to know."""
    folder = store_folder(settings)
    try:
        usage = shutil.disk_usage(folder) if folder is not None else None
    except OSError:
        return None
    return None if usage is None else (usage.free, usage.total)
