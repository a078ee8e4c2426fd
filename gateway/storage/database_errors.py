"""What SQLite, PostgreSQL or the disk says → the StoreTrouble family, in words that name the store and what to do."""

import resource
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as NoConnectionFree

from gateway.errors import StoreDamaged, StoreFull, StoreTrouble, StoreUnwritable
from gateway.storage.urls import place, sqlite_file

DAMAGED = ("malformed", "not a database", "disk image", "file is encrypted")
FULL = ("is full", "no space left", "quota exceeded", "file too large")
UNWRITABLE = ("readonly", "read-only", "disk i/o", "unable to open", "i/o error")
NO_ROOM_MAYBE = frozenset(
    {"SQLITE_IOERR_SHMSIZE", "SQLITE_IOERR_SHMMAP", "SQLITE_IOERR_WRITE", "SQLITE_IOERR_TRUNCATE"}
)
"""On a full disk SQLite cannot even make the small file that readers and writers share, and calls that an I/O error."""
LEAST_BYTES = 64 * 1024


@contextmanager
def in_our_words(url: str) -> Iterator[None]:
    """Whatever the database or the disk says is said by the StoreTrouble family."""
    try:
        yield
    except sqlite3.Error as wrong:
        raise said_of(wrong, url) from wrong
    except DBAPIError as wrong:
        raise said_of(wrong.orig, url) from wrong
    except NoConnectionFree as wrong:
        raise StoreTrouble(f"the store {place(url)} is busy: no connection was free ({wrong}); try again") from wrong
    except UnicodeDecodeError as wrong:  # SQLite quotes what it found where words should be
        if b"malformed" not in bytes(wrong.object):
            raise
        raise _said(bytes(wrong.object).decode("ascii", "replace"), url) from wrong
    except OSError as wrong:
        raise _said(wrong.strerror or str(wrong), url, StoreUnwritable) from wrong


def said_of(wrong: BaseException | None, url: str) -> StoreTrouble:
    """What a database says; a write that met a limit on the size of files is told as a full disk, which SQLite calls an I/O error."""
    said = " ".join(str(wrong).split())
    name = getattr(wrong, "sqlite_errorname", "")
    if name in NO_ROOM_MAYBE and _no_room(url):
        said = f"{said}; no space left on its disk"
    limited = resource.getrlimit(resource.RLIMIT_FSIZE)[0] != resource.RLIM_INFINITY
    if limited and name in ("SQLITE_IOERR", "SQLITE_IOERR_WRITE"):
        said = f"{said}; the limit on file sizes is reached: file too large"
    return _said(said, url)


def _no_room(url: str) -> bool:
    file = sqlite_file(url)
    try:
        return file is not None and shutil.disk_usage(file.parent).free < LEAST_BYTES
    except OSError:
        return False


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
