"""A file → SQLite connections that are durable, without any library in between.

WAL, synchronous FULL (a commit is on the disk when it returns), foreign keys, a busy time-out, BEGIN IMMEDIATE for writers so
that two never deadlock half way. Connections are kept for the next who asks; each is used by one thread at a time.
Source: SQLite documentation (pragma, lang_transaction).
"""

import sqlite3
from collections import deque
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Any

from gateway.storage.talk import Values, insert_sql
from gateway.storage.words import in_our_words

BUSY_S = 10.0
STATEMENTS_KEPT = 200
PAGE_BYTES = 1024
"""A commit writes whole pages, and a text touches a dozen of them: small ones spare an SD card most of the bytes (DEVELOPERS.md has the
figures) and cost a few hundredths of a second in a store of 200,000 rows. Only a new file takes it."""
LOG_BYTES = 4 * 1024 * 1024
PRAGMAS = (
    f"page_size={PAGE_BYTES}",
    "journal_mode=WAL",
    f"wal_autocheckpoint={LOG_BYTES // PAGE_BYTES}",
    "synchronous=FULL",
    "foreign_keys=ON",
    f"busy_timeout={int(BUSY_S * 1000)}",
)


class SqliteTalk:
    """Implements `Talk`."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self.connection = connection
        self.kept: dict[Any, Any] = {}
        self._version = 0

    def begin(self, how: str) -> None:
        """A transaction; what is remembered goes if another connection committed since the last one (PRAGMA data_version)."""
        self.connection.execute(how)
        version = self.connection.execute("PRAGMA data_version").fetchone()[0]
        if version != self._version:
            self._version = version
            self.kept.clear()

    def all(self, sql: str, values: Values) -> list[tuple[Any, ...]]:
        """See the port."""
        return self.connection.execute(sql, values).fetchall()

    def one(self, sql: str, values: Values) -> tuple[Any, ...] | None:
        """See the port."""
        cursor = self.connection.execute(sql, values)
        row: tuple[Any, ...] | None = cursor.fetchone()
        cursor.close()
        return row

    def change(self, sql: str, values: Values) -> int:
        """See the port."""
        return self.connection.execute(sql, values).rowcount

    def insert(self, table: str, values: Values) -> int:
        """See the port."""
        said = insert_sql(table, tuple(values), named=False)
        return int(self.connection.execute(said, tuple(values.values())).lastrowid or 0)

    def number(self, column: str, name: str) -> str:
        """See the port."""
        return f"json_extract({column}, '$.{name}')"


class SqliteDatabase:
    """Implements `Database` on one file."""

    def __init__(self, file: Path, url: str) -> None:
        self._file, self._url = file, url
        self._free: deque[SqliteTalk] = deque()

    def reading(self) -> AbstractContextManager[SqliteTalk]:
        """One snapshot."""
        return self._transaction("BEGIN")

    def writing(self) -> AbstractContextManager[SqliteTalk]:
        """Durable at the end of the block, or not at all."""
        return self._transaction("BEGIN IMMEDIATE")

    def close(self) -> None:
        """Closes every connection that nobody uses."""
        while self._free:
            self._free.pop().connection.close()

    @contextmanager
    def _transaction(self, begin: str) -> Iterator[SqliteTalk]:
        with in_our_words(self._url):
            talk = self._take()
            try:
                talk.begin(begin)
                yield talk
                talk.connection.execute("COMMIT")
            except BaseException:
                self._give_up(talk)
                raise
            self._free.append(talk)

    def _take(self) -> SqliteTalk:
        try:
            return self._free.pop()
        except IndexError:
            return SqliteTalk(connect(self._file))

    def _give_up(self, talk: SqliteTalk) -> None:
        """Nothing of it stays, nor what is remembered of it. The connection does: on a full disk a new one could not even make its files."""
        talk.kept.clear()
        try:
            if talk.connection.in_transaction:
                talk.connection.execute("ROLLBACK")
        except sqlite3.Error:
            talk.connection.close()
            return
        self._free.append(talk)


def connect(file: Path) -> sqlite3.Connection:
    """A durable connection."""
    connection = sqlite3.connect(
        file, timeout=BUSY_S, isolation_level=None, check_same_thread=False, cached_statements=STATEMENTS_KEPT
    )
    try:
        for pragma in PRAGMAS:
            connection.execute(f"PRAGMA {pragma}").close()
    except (sqlite3.Error, UnicodeDecodeError):
        connection.close()
        raise
    return connection
