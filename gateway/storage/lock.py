"""One daemon on one store: a lock file beside the SQLite file that holds the daemon's pid.

The lock is the kernel's (flock), so that it is gone with its process however that ended. On PostgreSQL it is one daemon a site:
the file stands in the gateway's state folder (else in the temporary one) under the hash of URL and site, so that commands on
this board find the daemon, and the server holds the site against a second gateway of that name on another board: for as long as
the connection is there on which the daemon writes (`postgresql.py`).
"""

import fcntl
import os
import tempfile
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Engine

from gateway.errors import StoreHeld, StoreUnwritable
from gateway.settings.sharing import gateway_file_name
from gateway.storage.database import hold_site
from gateway.storage.database_errors import in_our_words
from gateway.storage.files import not_ours, open_or_make
from gateway.storage.urls import place, sqlite_file

STATE_FOLDER = Path("/var/lib/tank-gateway")
"""The unit's StateDirectory: unlike the temporary folder, the daemon and the commands see the same one."""


@dataclass(frozen=True, slots=True)
class Lock:
    """A held lock. `holder`: what the store is written through on a server."""

    descriptor: int
    holder: Engine | None = None

    def release(self) -> None:
        """Lets another daemon have the store."""
        if self.holder is not None:
            self.holder.dispose()
        os.close(self.descriptor)


def hold(url: str, site: str) -> Lock:
    """Takes the lock. Raises StoreHeld, naming the process that has it."""
    file = _file(url, site)
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        descriptor = open_or_make(file)
    except OSError as wrong:
        raise StoreUnwritable(f"the store's folder {file.parent} cannot be used: {wrong.strerror}") from None
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        pid = os.read(descriptor, 20).decode("ascii", "replace").strip()
        os.close(descriptor)
        raise StoreHeld(
            f"another gateway (process {pid or 'unknown'}) works on the store {place(url)}; stop it first"
        ) from None
    try:
        holder = _holder(url, site)
    except BaseException:
        os.close(descriptor)
        raise
    lock = Lock(descriptor, holder)
    try:
        with in_our_words(url):
            os.ftruncate(descriptor, 0)
            os.write(descriptor, str(os.getpid()).encode())
    except BaseException:
        lock.release()
        raise
    return lock


def holder(url: str, site: str) -> int | None:
    """The pid of the daemon on this store, if one runs on this board. Raises StoreUnwritable where that is another user's to know."""
    file = _file(url, site)
    theirs = not_ours(file)
    if theirs is not None:
        raise StoreUnwritable(f"whether a daemon runs on the store {place(url)} cannot be seen: {theirs}")
    try:
        descriptor = os.open(file, os.O_RDWR | os.O_CLOEXEC)
    except OSError:
        return None
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        said = os.read(descriptor, 20).decode("ascii", "replace").strip()
        return int(said) if said.isdecimal() else None
    finally:
        os.close(descriptor)
    return None


def _holder(url: str, site: str) -> Engine | None:
    """The server's own lock; None for a file, which needs no other."""
    if sqlite_file(url) is not None:
        return None
    return hold_site(url, site)


def _file(url: str, site: str) -> Path:
    file = sqlite_file(url)
    if file is not None:
        return file.with_name(file.name + ".lock")
    folder = STATE_FOLDER if os.access(STATE_FOLDER, os.R_OK | os.X_OK) else Path(tempfile.gettempdir())
    return folder / f"{gateway_file_name(url, site)}.lock"
