"""`open_store` → the store: checked, migrated, ready. Implements gateway.ports.Store."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Engine

from gateway.errors import StoreDamaged, StoreTrouble
from gateway.storage.engine import OWNER_ONLY, in_our_words, make_engine, place, reading, sqlite_file, writing
from gateway.storage.reader import SqlReader
from gateway.storage.transaction import SqlTransaction

QUICK_CHECK_BYTES = 64 * 1024 * 1024
"""A store larger than this is not read through at start (23 ms for 5 MB were measured)."""


class SqlStore:
    """The durable memory of one site."""

    def __init__(self, engine: Engine, url: str, site: str) -> None:
        self._engine = reading(engine)
        self._writer = writing(engine, site)
        self.url = url
        self.site = site

    @contextmanager
    def read(self) -> Iterator[SqlReader]:
        """One snapshot."""
        with in_our_words(self.url), self._engine.begin() as connection:
            yield SqlReader(connection, self.site)

    @contextmanager
    def write(self) -> Iterator[SqlTransaction]:
        """Durable at the end of the block, or not at all."""
        with in_our_words(self.url), self._writer.connect() as connection, connection.begin():
            yield SqlTransaction(connection, self.site)

    def backup(self, file: str) -> None:
        """A consistent, verified copy while others write."""
        from gateway.storage.backup import backup

        backup(self.url, file)

    def close(self) -> None:
        """Closes every connection."""
        self._engine.dispose()


def open_store(url: str, site: str, *, create: bool = True) -> SqlStore:
    """Opens, checks and migrates the store. Raises the StoreTrouble family in words."""
    file = sqlite_file(url)
    if file is not None:
        _prepare_file(file, url, create)
    engine = make_engine(url)
    try:
        with in_our_words(url):
            if file is not None:
                _check(engine, file, url)
            from gateway.storage.schema import bring_up_to_date

            bring_up_to_date(engine, url)
    except StoreTrouble:
        engine.dispose()
        raise
    return SqlStore(engine, url, site)


def _prepare_file(file: Path, url: str, create: bool) -> None:
    if file.exists():
        return
    if not create:
        raise StoreTrouble(f"there is no store at {place(url)} yet; `tank-gateway serve` or `import` makes it")
    with in_our_words(url):
        file.parent.mkdir(parents=True, exist_ok=True)
        file.touch(mode=OWNER_ONLY)


def _check(engine: Engine, file: Path, url: str) -> None:
    if file.stat().st_size > QUICK_CHECK_BYTES:
        return
    with engine.begin() as connection:
        said = connection.exec_driver_sql("PRAGMA quick_check(1)").scalar()
    if said != "ok":
        raise StoreDamaged(
            f"the store {place(url)} is damaged ({said}); it is left as it is. "
            "`tank-gateway restore BACKUP` sets it aside and puts a backup in its place"
        )
