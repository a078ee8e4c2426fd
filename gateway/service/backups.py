"""Once a day → a verified backup in the configured folder (another medium, at best), seven kept; each on record."""

from datetime import datetime, timedelta
from pathlib import Path

from gateway.errors import StoreTrouble
from gateway.ports import Store
from gateway.settings.models import Settings
from gateway.storage.backup import rotate

EVERY = timedelta(days=1)
AFTER_A_FAILURE = timedelta(hours=1)


class Backups:
    """When the next one is due, and how it is made."""

    def __init__(self, settings: Settings, store: Store) -> None:
        self._folder = settings.store.backup_folder if settings.store.url.startswith("sqlite") else ""
        self._store = store
        self._next: datetime | None = None

    def due(self, last: datetime | None, now: datetime) -> datetime | None:
        """When the next is due, `last` being the last one on record; None: no folder is configured, or the store is a server's."""
        if not self._folder:
            return None
        return self._next or (last + EVERY if last else now)

    def make(self, now: datetime) -> str | None:
        """Makes one; None, or what went wrong in words."""
        file = Path(self._folder) / f"tank-gateway-{now:%Y%m%dT%H%M%SZ}.db"
        try:
            self._store.backup(str(file))
            rotate(self._folder)
        except (StoreTrouble, OSError) as wrong:
            self._next = now + AFTER_A_FAILURE
            return str(wrong)
        self._next = now + EVERY
        return None
