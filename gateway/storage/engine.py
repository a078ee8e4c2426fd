"""A URL → an engine whose every connection is durable, and whose failures are said in our words.

SQLite: WAL, synchronous FULL (a commit is on the disk when it returns), foreign keys, a busy time-out, BEGIN IMMEDIATE for
writers so that two never deadlock half way. PostgreSQL: see `gateway.storage.server`. Source: SQLite documentation (pragma, lang_transaction).
"""

import resource
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError
from sqlalchemy.pool import QueuePool

from gateway.errors import StoreDamaged, StoreFull, StoreTrouble, StoreUnwritable
from gateway.storage.server import BACKEND, server_engine

BUSY_S = 10.0
OWNER_ONLY = 0o600
SECRET = ("password", "sslpassword")
"""What may stand in a URL's query and must not be said."""
DAMAGED = ("malformed", "not a database", "disk image", "file is encrypted")
FULL = ("is full", "no space left", "quota exceeded", "file too large")
UNWRITABLE = ("readonly", "read-only", "disk i/o", "unable to open", "i/o error")


def sqlite_file(url: str) -> Path | None:
    """The SQLite file of a URL; None for PostgreSQL."""
    parsed = _parsed(url)
    return Path(parsed.database or ":memory:") if parsed.drivername.split("+")[0] == "sqlite" else None


def make_engine(url: str) -> Engine:
    """An engine that connects when it is first used."""
    file = sqlite_file(url)
    if file is None:
        return server_engine(_parsed(url))
    engine = create_engine(
        url,
        poolclass=QueuePool,
        pool_size=2,
        max_overflow=4,
        connect_args={"timeout": BUSY_S, "check_same_thread": False},
    )
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def reading(engine: Engine) -> Engine:
    """Its transactions are one snapshot each (SQLite's always are)."""
    return engine.execution_options(isolation_level="REPEATABLE READ") if engine.name == BACKEND else engine


def writing(engine: Engine, site: str) -> Engine:
    """Its transactions write, one after the other."""
    return engine.execution_options(writing=True, writing_of=site)


def _parsed(url: str) -> URL:
    try:
        parsed = make_url(url)
    except ArgumentError:
        parsed = None
    if parsed is None or parsed.drivername.split("+")[0] not in ("sqlite", BACKEND):
        raise StoreTrouble(
            f"{url!r} is no store url; right would be sqlite:////var/lib/tank-gateway/gateway.db, "
            "or postgresql://user@server/database"
        )
    return parsed


def _prepare(connection: Any, _record: Any) -> None:
    connection.isolation_level = None
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", f"busy_timeout={int(BUSY_S * 1000)}"):
        connection.execute(f"PRAGMA {pragma}").close()


def _begin(connection: Any) -> None:
    writing = connection.get_execution_options().get("writing", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


@contextmanager
def in_our_words(url: str) -> Iterator[None]:
    """Whatever the database says is said by the StoreTrouble family."""
    try:
        yield
    except DBAPIError as wrong:
        raise _said(_in_full(wrong.orig), url) from wrong
    except sqlite3.Error as wrong:
        raise _said(_in_full(wrong), url) from wrong
    except OSError as wrong:
        raise _said(wrong.strerror or str(wrong), url, StoreUnwritable) from wrong


def place(url: str) -> str:
    """The store's place without a password."""
    file = sqlite_file(url)
    if file is not None:
        return str(file)
    return make_url(url).difference_update_query(SECRET).render_as_string(hide_password=True)


def _in_full(wrong: BaseException | None) -> str:
    """What SQLite says; a write that met a limit on the size of files is told as a full disk, which it calls an I/O error."""
    said = " ".join(str(wrong).split())
    limited = resource.getrlimit(resource.RLIMIT_FSIZE)[0] != resource.RLIM_INFINITY
    if limited and getattr(wrong, "sqlite_errorname", "") in ("SQLITE_IOERR", "SQLITE_IOERR_WRITE"):
        return f"{said}; the limit on file sizes is reached: file too large"
    return said


def _said(said: str, url: str, otherwise: type[StoreTrouble] = StoreTrouble) -> StoreTrouble:
    low = said.lower()
    if any(word in low for word in DAMAGED):
        return StoreDamaged(
            f"the store {place(url)} is damaged ({said}); it is left as it is. "
            "`tank-gateway restore BACKUP` sets it aside and puts a backup in its place"
        )
    if any(word in low for word in FULL):
        return StoreFull(f"there is no room left for the store {place(url)} ({said}); texts stay on the SIM")
    if any(word in low for word in UNWRITABLE):
        return StoreUnwritable(f"the store {place(url)} cannot be written ({said}); texts stay on the SIM")
    if "locked" in low or "lock timeout" in low:
        return StoreTrouble(f"the store {place(url)} is busy with another program ({said}); try again")
    return otherwise(f"the store {place(url)} cannot be used: {said}")
