"""One daemon on one store: a lock file beside the SQLite file that holds the daemon's pid.

The lock is the kernel's (flock), so that it is gone with its process however that ended. For another engine the file stands
in the temporary folder under the hash of its URL.
"""

import fcntl
import hashlib
import os
import tempfile
from dataclasses import dataclass
from pathlib import Path

from gateway.errors import StoreHeld, StoreUnwritable
from gateway.storage.words import place, sqlite_file


@dataclass(frozen=True, slots=True)
class Lock:
    """A held lock."""

    descriptor: int

    def release(self) -> None:
        """Lets another daemon have the store."""
        os.close(self.descriptor)


def hold(url: str) -> Lock:
    """Takes the lock. Raises StoreHeld, naming the process that has it."""
    file = _file(url)
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        descriptor = os.open(file, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
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
    os.ftruncate(descriptor, 0)
    os.write(descriptor, str(os.getpid()).encode())
    return Lock(descriptor)


def holder(url: str) -> int | None:
    """The pid of the daemon on this store, if one runs."""
    try:
        descriptor = os.open(_file(url), os.O_RDWR | os.O_CLOEXEC)
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


def _file(url: str) -> Path:
    file = sqlite_file(url)
    if file is not None:
        return file.with_name(file.name + ".lock")
    return Path(tempfile.gettempdir()) / f"tank-gateway-{hashlib.sha256(url.encode()).hexdigest()[:16]}.lock"
