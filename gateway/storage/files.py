"""Files beside the store and elsewhere: made for whom their folder belongs to, flushed, and never written over what they may not.

`sudo tank-gateway doctor` or `restore` may be the first to make the store; made as root's it would be shut to the service. Made
without following links, so that nothing in the folder can turn root's hand elsewhere.
"""

import os
import pwd
from pathlib import Path

OWNER_ONLY = 0o600
FILE_BEGINS = b"SQLite format 3\0"
"""The first octets of every SQLite file (SQLite documentation, file format)."""


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


def not_ours(path: Path) -> str | None:
    """Whose a file is that we may not even read, or the folder in which we may not look for it, in words; None: we may, or it is not there."""
    try:
        path.stat()
    except PermissionError:
        path = next(folder for folder in path.parents if _can_be_seen(folder))
    except OSError:
        return None
    else:
        if os.access(path, os.R_OK):
            return None
    owner = path.stat().st_uid
    try:
        name = pwd.getpwuid(owner).pw_name
    except KeyError:
        name = f"user {owner}"
    return f"{path} belongs to {name} alone: try sudo"


def _can_be_seen(folder: Path) -> bool:
    try:
        folder.stat()
    except OSError:
        return False
    return True


def flush(path: Path) -> None:
    """Contents of a file, or names of a folder, onto the disk."""
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def is_sqlite(file: Path) -> bool:
    """Whether that file is a store or a backup."""
    with file.open("rb") as there:
        return there.read(len(FILE_BEGINS)) == FILE_BEGINS


def no_file(target: Path, example: str) -> str | None:
    """What is wrong with a place where a file shall be written; None: nothing, whether or not one is there already."""
    if target.is_symlink():
        return f"{target} is a link, and links are not followed; right would be the name of a file, such as {example}"
    if not target.name or target.is_dir():
        return f"{str(target)!r} is a folder; right would be the name of a file in it, such as {example}"
    if target.exists() and not target.is_file():
        return f"{target} is no ordinary file; right would be the name of a new one"
    if not target.parent.is_dir():
        return f"there is no folder {target.parent}, and none is made: is the stick or the disk there that it lies on?"
    return None
