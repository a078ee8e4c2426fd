"""`open_store` → the store: checked, migrated, ready. Implements gateway.ports.Store."""

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from gateway.errors import StoreDamaged, StoreTrouble
from gateway.storage.lock import Lock
from gateway.storage.owner import make
from gateway.storage.reader import SqlReader
from gateway.storage.schema import bring_up_to_date
from gateway.storage.sqlite import SqliteDatabase
from gateway.storage.talk import Database
from gateway.storage.transaction import SqlTransaction
from gateway.storage.words import in_our_words, place, sqlite_file

TABLES = ("arrivals", "parts", "texts", "segments", "events", "call_outs", "pauses", "marks")
QUICK_CHECK_BYTES = 64 * 1024 * 1024
"""A store larger than this is not read through at start (23 ms for 5 MB were measured)."""


class SqlStore:
    """The durable memory of one site."""

    def __init__(self, database: Database, url: str, site: str) -> None:
        self._database = database
        self.url = url
        self.site = site

    @contextmanager
    def read(self) -> Iterator[SqlReader]:
        """One snapshot."""
        with self._database.reading() as talk:
            yield SqlReader(talk, self.site)

    @contextmanager
    def write(self) -> Iterator[SqlTransaction]:
        """Durable at the end of the block, or not at all."""
        with self._database.writing() as talk:
            yield SqlTransaction(talk, self.site)

    def adopt(self) -> str | None:
        """A file is one gateway's: what it kept under another name (the site was renamed, a backup came from elsewhere) is this
        site's from now on. Which name that was; None where there is none, or several. On a server every name is a gateway's own."""
        if sqlite_file(self.url) is None:
            return None
        with self._database.reading() as talk:
            names = [row[0] for row in talk.all("SELECT DISTINCT site FROM marks", {})]
        if len(names) != 1 or names[0] == self.site:
            return None
        with self._database.writing() as talk:
            for table in TABLES:
                talk.change(
                    f"UPDATE {table} SET site = :now WHERE site = :before", {"now": self.site, "before": names[0]}
                )
        return str(names[0])

    def backup(self, file: str) -> None:
        """A consistent, verified copy while others write."""
        from gateway.storage.backup import backup

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
    database = _database(file, url, site, lock)
    try:
        if file is not None and check:
            _check(database, file, url)
        bring_up_to_date(database, url)
    except StoreTrouble:
        database.close()
        raise
    return SqlStore(database, url, site)


def _database(file: Path | None, url: str, site: str, lock: Lock | None) -> Database:
    if file is not None:
        return SqliteDatabase(file, url)
    from gateway.storage.engine import EngineDatabase, make_engine

    return EngineDatabase(make_engine(url), url, site, lock.holder if lock is not None else None)


def _prepare_file(file: Path, url: str, create: bool) -> None:
    if file.exists():
        return
    if not create:
        raise StoreTrouble(f"there is no store at {place(url)} yet; `tank-gateway serve` or `import` makes it")
    with in_our_words(url):
        file.parent.mkdir(parents=True, exist_ok=True)
        with suppress(FileExistsError):  # another command was quicker
            make(file)


def _check(database: Database, file: Path, url: str) -> None:
    if file.stat().st_size > QUICK_CHECK_BYTES:
        return
    with database.reading() as talk:
        row = talk.one("PRAGMA quick_check(1)", {})
    said = row[0] if row else "no answer"
    if said != "ok":
        raise StoreDamaged(
            f"the store {place(url)} is damaged ({said}); it is left as it is. "
            "`tank-gateway restore BACKUP` sets it aside and puts a backup in its place"
        )
