"""When the gateway was last at work, kept where nothing is written to a disk: the time stamp of an empty file in memory.

The file outlives the process however that ended, not the power: where it is gone, the board was off, and what is on record is all
that is known. Under systemd it lies in RuntimeDirectory (kept over restarts), else in /dev/shm.
Source: systemd.exec(5) (RUNTIME_DIRECTORY, RuntimeDirectoryPreserve); shm_overview(7).
"""

import os
from datetime import UTC, datetime
from pathlib import Path

from gateway.ports import Clock
from gateway.settings.sharing import gateway_file_name

SHARED_MEMORY = Path("/dev/shm")  # a tmpfs on every Linux; the file is empty and opened without following links


class LifeSign:
    """The file of one gateway."""

    def __init__(self, clock: Clock, store_url: str, site: str, folder: Path | None = None) -> None:
        self._clock = clock
        place = folder or _folder()
        self._file = place / f"{gateway_file_name(store_url, site)}.at-work" if place is not None else None
        self.before = self._read()

    def give(self) -> None:
        """At work now."""
        if self._file is None:
            return
        at = self._clock.now().timestamp()
        try:
            file = os.open(self._file, os.O_WRONLY | os.O_CREAT | os.O_NOFOLLOW | os.O_CLOEXEC, 0o600)
            try:
                os.utime(file, (at, at))
            finally:
                os.close(file)
        except OSError:
            self._file = None  # somebody else's file, or no such folder: it goes without

    def end(self) -> None:
        """Ended in order, which is on record."""
        if self._file is not None:
            self._file.unlink(missing_ok=True)

    def _read(self) -> datetime | None:
        """What the process before left; None: nothing, so that the board itself was off."""
        try:
            seen = self._file.lstat() if self._file is not None else None
        except OSError:
            return None
        return datetime.fromtimestamp(seen.st_mtime, UTC) if seen is not None and seen.st_uid == os.geteuid() else None


def _folder() -> Path | None:
    given = os.environ.get("RUNTIME_DIRECTORY", "").split(":")[0]
    if given:
        return Path(given)
    return SHARED_MEMORY if SHARED_MEMORY.is_dir() else None
