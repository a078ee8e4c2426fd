"""What the daemon does beside its main job when it is due: the day's backup, a fresh page in its folder, a look at the disk."""

from datetime import datetime

from gateway.handlers import gateway_health, gateway_life
from gateway.ports import Store
from gateway.service.backups import Backups
from gateway.service.disk import Disk
from gateway.service.fresh_page import Pages
from gateway.service.guard import Within
from gateway.service.record import Record
from gateway.site import Site
from gateway.status import troubles


class Chores:
    """The chores of one daemon; None: not wanted."""

    def __init__(
        self, store: Store, within: Within, record: Record, backups: Backups | None, pages: Pages | None
    ) -> None:
        self._store, self._within, self._record = store, within, record
        self._backups, self._pages = backups, pages
        self._disk = Disk()

    def do(self, now: datetime, site: Site) -> datetime | None:
        """Does what is due; when something is due next."""
        times = (self._back_up(now), self._keep_page(now, site), self._look_at_disk(now, site))
        return min((at for at in times if at is not None), default=None)

    def _back_up(self, now: datetime) -> datetime | None:
        if self._backups is None:
            return None
        with self._store.read() as reader:
            last = reader.last_event(("backup-made",))
        due = self._backups.due(last.at if last else None, now)
        if due is None or due > now:
            return due
        said = self._backups.make(now)
        self._within(lambda unit: gateway_life.backed_up(unit, said))
        self._record("backup", said=said)
        return self._backups.due(None, now)

    def _look_at_disk(self, now: datetime, site: Site) -> datetime:
        """Told while it can still be stored that there is little room."""
        due = self._disk.due(now)
        room = self._disk.look(site.settings, now) if due <= now else None
        if room is not None:
            with self._store.read() as reader:
                flagged = troubles.trouble_since(reader, "disk-low") is not None
            if flagged or troubles.disk_wrong(*room):
                self._within(lambda unit: gateway_health.watch_disk(unit, *room))
        return self._disk.due(now)

    def _keep_page(self, now: datetime, site: Site) -> datetime | None:
        """A folder that cannot be written is no reason to stop."""
        if self._pages is None:
            return None
        with self._store.read() as reader:
            html = self._pages.fresh(reader, site, now)
        try:
            if html is not None:
                self._pages.keep(html)
        except OSError as wrong:
            self._record("page-not-written", said=wrong)
        return self._pages.due(now)
