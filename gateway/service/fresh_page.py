"""The page kept fresh in a folder."""

from datetime import datetime, timedelta
from pathlib import Path

from gateway.page import make_page, write_page
from gateway.ports import Reader
from gateway.site import Site

FRESH_EVERY = timedelta(hours=1)
REST = timedelta(seconds=5)
"""A page is not written again sooner: on a small board one takes a good part of a second."""
AFTER_FAILURE = timedelta(minutes=1)


class Pages:
    """Writes `index.html` into the configured folder: on change, and at least hourly. A burst of changes costs one page."""

    def __init__(self, folder: str) -> None:
        self._file = str(Path(folder) / "index.html")
        self._tried: datetime | None = None
        self._rest = REST
        self._newest = self._seen = -1
        self._changed = False

    def fresh(self, reader: Reader, site: Site, at: datetime) -> str | None:
        """The page if it is due, since something happened or an hour went by."""
        self._seen = reader.last_id("events")
        self._changed = self._seen != self._newest
        if at < self.due(at):
            return None
        self._tried, self._rest = at, AFTER_FAILURE
        return make_page(reader, site, at)

    def keep(self, html: str) -> None:
        """Writes what `fresh` gave. Raises OSError; so it is not done within the store's `read`, which takes that for the store's."""
        write_page(self._file, html, for_all=True)
        self._newest, self._changed, self._rest = self._seen, False, REST

    def due(self, at: datetime) -> datetime:
        """When it must be fresh again: soon after what changed it, or even if nothing happens."""
        if self._tried is None or self._tried > at:
            return at
        return self._tried + (self._rest if self._changed else FRESH_EVERY)
