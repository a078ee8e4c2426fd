"""A new file in the store's folder → one that belongs to whom the folder belongs.

`sudo tank-gateway doctor` or `restore` may be the first to make the store; made as root's it would be shut to the service. Made
without following links, so that nothing in the folder can turn root's hand elsewhere.
"""

import os
from pathlib import Path

OWNER_ONLY = 0o600


def make(path: Path, contents: bytes = b"") -> None:
    """A new file, readable by its owner alone. Raises FileExistsError."""
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC, OWNER_ONLY)
    with os.fdopen(descriptor, "wb") as file:
        give(descriptor, path.parent)
        file.write(contents)


def open_or_make(path: Path) -> int:
    """A descriptor of the file, made if need be."""
    existed = path.exists()
    descriptor = os.open(path, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW | os.O_CLOEXEC, OWNER_ONLY)
    if not existed:
        give(descriptor, path.parent)
    return descriptor


def give(descriptor: int, folder: Path) -> None:
    """Only root can, and only root needs to."""
    if os.geteuid() == 0:
        owner = folder.stat()
        os.fchown(descriptor, owner.st_uid, owner.st_gid)
