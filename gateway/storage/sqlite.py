"""A file → an engine whose commits are durable; and what SQLite alone can do, on its own connections.

WAL, synchronous FULL (a commit is on the disk when it returns), foreign keys, a busy time-out, BEGIN IMMEDIATE for writers so that two
never deadlock half way, secure_delete so that what is overwritten is not left in the file. Each connection is used by one thread at a
time. Source: SQLite documentation (pragma, lang_transaction, wal).
"""

import sqlite3
from pathlib import Path
from typing import cast

from sqlalchemy import Connection, Engine, create_engine
from sqlalchemy.pool import QueuePool

from gateway.storage.remembered import forget_all

BUSY_S = 10.0
STATEMENTS_KEPT = 200
CONNECTIONS_KEPT = 5
PAGE_BYTES = 1024
"""A commit writes whole pages, and a text touches a dozen of them: small ones spare an SD card most of the bytes (DECISIONS.md has the
figures) and cost a few hundredths of a second in a store of 200,000 rows. Only a new file takes it."""
LOG_BYTES = 4 * 1024 * 1024
PRAGMAS = (
    f"page_size={PAGE_BYTES}",
    "journal_mode=WAL",
    f"wal_autocheckpoint={LOG_BYTES // PAGE_BYTES}",
    "synchronous=FULL",
    "foreign_keys=ON",
    "secure_delete=ON",
    f"busy_timeout={int(BUSY_S * 1000)}",
)
_DATA_VERSION = "data-version"


def sqlite_engine(file: Path) -> Engine:
    """An engine that connects when it is first used."""
    return create_engine(
        "sqlite://",
        creator=lambda: connect(file),
        poolclass=QueuePool,
        pool_size=CONNECTIONS_KEPT,
        max_overflow=-1,
    )


def connect(file: Path) -> sqlite3.Connection:
    """A durable connection, which begins no transaction by itself."""
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


def raw_of(connection: Connection) -> sqlite3.Connection:
    """SQLite's own connection beneath."""
    raw = connection.connection.dbapi_connection
    return cast(sqlite3.Connection, raw)


def quick_check(connection: Connection) -> str:
    """`ok`, or the first thing that is wrong with the file."""
    row = raw_of(connection).execute("PRAGMA quick_check(1)").fetchone()
    return str(row[0]) if row else "no answer"


def empty_log(connection: Connection) -> None:
    """After a commit: everything of the log into the file, and the log cut to nothing, for older versions of rows stand in it. Where
    somebody still reads from it nothing is cut; the next time it is."""
    raw_of(connection).execute("PRAGMA wal_checkpoint(TRUNCATE)").close()


def begin(connection: Connection, how: str) -> None:
    """BEGIN or BEGIN IMMEDIATE. What is remembered of the store goes if another connection has committed since the last one:
    data_version changes with every commit but this connection's own."""
    raw = raw_of(connection)
    raw.execute(how)
    version = raw.execute("PRAGMA data_version").fetchone()[0]
    if version != connection.info.get(_DATA_VERSION):
        connection.info[_DATA_VERSION] = version
        forget_all(connection.info)
