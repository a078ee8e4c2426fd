"""`open_store` → the store: checked, made or migrated, ready. Implements gateway.ports.Store."""

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from sqlalchemy import bindparam, select, update

from gateway.errors import StoreDamaged, StoreMissing, StoreTrouble, StoreUnwritable
from gateway.storage.backup import backup
from gateway.storage.database import Database
from gateway.storage.database_errors import in_our_words
from gateway.storage.files import make, not_ours
from gateway.storage.lock import Lock
from gateway.storage.migrate import bring_up_to_date
from gateway.storage.remembered import forget_all
from gateway.storage.sqlite import quick_check
from gateway.storage.stored_alarms import AlarmReader, AlarmWriter
from gateway.storage.stored_arrivals import ArrivalReader, ArrivalWriter
from gateway.storage.stored_events import EventReader, EventWriter
from gateway.storage.stored_messages import MessageReader, MessageWriter
from gateway.storage.stored_pauses import PauseReader, PauseWriter
from gateway.storage.stored_states import StateReader, StateWriter
from gateway.storage.stored_texts import TextReader, TextWriter
from gateway.storage.sums import Sums
from gateway.storage.tables import SITE_TABLES, states
from gateway.storage.urls import place, sqlite_file

QUICK_CHECK_BYTES = 64 * 1024 * 1024
"""A store larger than this is not read through at start (23 ms for 5 MB were measured)."""


class SqlReader(ArrivalReader, TextReader, EventReader, MessageReader, AlarmReader, PauseReader, StateReader, Sums):
    """Implements gateway.ports.Reader: one snapshot of the store, as one site sees it."""

    def of_site(self, site: str) -> "SqlReader":
        return SqlReader(self._connection, site)


class SqlTransaction(
    ArrivalWriter, TextWriter, EventWriter, MessageWriter, AlarmWriter, PauseWriter, StateWriter, SqlReader
):
    """Implements gateway.ports.Transaction. Only rows of its own site are ever changed."""


class SqlStore:
    """The durable memory of one site."""

    def __init__(self, database: Database, url: str, site: str) -> None:
        self._database = database
        self.url = url
        self.site = site

    @contextmanager
    def read(self) -> Iterator[SqlReader]:
        """One snapshot."""
        with self._database.reading() as connection:
            yield SqlReader(connection, self.site)

    @contextmanager
    def write(self) -> Iterator[SqlTransaction]:
        """Durable at the end of the block, or not at all."""
        with self._database.writing() as connection:
            yield SqlTransaction(connection, self.site)

    def adopt(self) -> str | None:
        """A file is one gateway's: what it kept under another name (the site was renamed, a backup came from elsewhere) is this
        site's from now on. Which name that was; None where there is none, or several. On a server every name is a gateway's own."""
        if not self._database.is_file:
            return None
        with self._database.reading() as connection:
            names = connection.execute(select(states.c.site).distinct()).scalars().all()
        if len(names) != 1 or names[0] == self.site:
            return None
        with self._database.writing() as connection:
            for table in SITE_TABLES:
                renamed = update(table).where(table.c.site == bindparam("before"))
                connection.execute(renamed, {"site": self.site, "before": names[0]})
            forget_all(connection.info)
        return str(names[0])

    def backup(self, file: str) -> None:
        """A consistent, verified copy while others write."""
        backup(self.url, file)

    def close(self) -> None:
        """Closes every connection."""
        self._database.close()


def open_store(url: str, site: str, *, create: bool = True, check: bool = True, lock: Lock | None = None) -> SqlStore:
    """Opens, checks and migrates the store. Raises the StoreTrouble family in words.

    Without `check` it is not read through first: whoever only looks learns of damage where it is met. With `lock` a server is written to
    only while the site is held there; StoreHeld once another gateway has it.
    """
    file = sqlite_file(url)
    if file is not None:
        _prepare_file(file, url, create)
    database = Database(url, site, lock.holder if lock is not None else None)
    try:
        if file is not None and check:
            _check(database, file, url)
        bring_up_to_date(database, url)
    except StoreTrouble:
        database.close()
        raise
    return SqlStore(database, url, site)


def _prepare_file(file: Path, url: str, create: bool) -> None:
    theirs = not_ours(file)
    if theirs is not None:
        raise StoreUnwritable(f"the store {theirs}")
    if file.exists():
        return
    if not create:
        raise StoreMissing(
            f"there is no store at {place(url)}; `tank-gateway serve` or `import` makes one. "
            "If there should be one, store.url names another place"
        )
    with in_our_words(url):
        file.parent.mkdir(parents=True, exist_ok=True)
        with suppress(FileExistsError):  # another command was quicker
            make(file)


def _check(database: Database, file: Path, url: str) -> None:
    if file.stat().st_size > QUICK_CHECK_BYTES:
        return
    with database.reading() as connection:
        said = quick_check(connection)
    if said != "ok":
        raise StoreDamaged(
            f"the store {place(url)} is damaged ({said}); it is left as it is. "
            "`tank-gateway restore BACKUP` sets it aside and puts a backup in its place"
        )
