"""A store → a consistent, verified copy; and back. The older copy stays good whatever happens to the newer.

Made with VACUUM INTO beside the target, checked, flushed, renamed. Only for SQLite: another engine has tools of its own.
"""

import json
import shutil
import sqlite3
from contextlib import closing, suppress
from pathlib import Path
from typing import Any
from urllib.parse import quote

from gateway.errors import StoreDamaged, StoreFull, StoreHeld, StoreNewer, StoreTrouble, StoreUnwritable
from gateway.storage.database_errors import in_our_words
from gateway.storage.files import flush, is_sqlite, make, no_file
from gateway.storage.lock import hold
from gateway.storage.tables import HEAD
from gateway.storage.urls import place, sqlite_file

KEEP = 7
PATTERN = "tank-gateway-*.db"
FIRST, TYPED_STATES = "0001", "0003"
"""The first schema a program made, and the first with a table of states."""


def backup(url: str, file: str) -> None:
    """Copies the store to `file`. Raises StoreTrouble in words; an older file of that name stays until the new one is good."""
    source = _sqlite(url)
    target = Path(file)
    try:
        with in_our_words(url):
            _may_become_a_backup(target, source)
            _make(source, target)
    except (StoreFull, StoreUnwritable) as wrong:
        with suppress(OSError):
            _clear(target.with_name(f"{target.name}.making"))
        raise type(wrong)(f"the backup {target} cannot be made ({wrong.__cause__ or wrong.said})") from wrong


def _make(source: Path, target: Path) -> None:
    making = target.with_name(target.name + ".making")
    _clear(making)
    with closing(sqlite3.connect(_reading(source), uri=True, timeout=10)) as connection:
        connection.execute("VACUUM INTO ?", (str(making),))
    making.chmod(0o600)
    _verify(making)
    flush(making)
    making.replace(target)
    flush(target.parent)


def rotate(folder: str, *, keep: int = KEEP) -> tuple[Path, ...]:
    """Removes all but the newest so many backups of a folder, and what was left of one cut short; which backups were removed."""
    for cut_short in Path(folder).glob(f"{PATTERN}.making*"):
        cut_short.unlink()
    old = sorted(Path(folder).glob(PATTERN))[:-keep]
    for outdated in old:
        outdated.unlink()
    return tuple(old)


def restore(file: str, url: str, stamp: str) -> Path | None:
    """Verifies the backup, sets the old store aside as `<store>.aside-<stamp>`, puts the backup in its place."""
    target = _sqlite(url)
    source = Path(file)
    if not source.exists():
        raise StoreTrouble(f"there is no backup {file}")
    if target.exists() and source.samefile(target):
        raise StoreTrouble(f"{file} is the store itself; right would be a backup of it")
    _verify(source)
    try:
        lock = hold(url, "")
    except StoreHeld as held:
        raise StoreHeld(f"{held.said}, then restore") from None
    try:
        with in_our_words(url):
            return _put_in_place(source, target, stamp)
    finally:
        lock.release()


def configuration_in(file: str) -> tuple[str, tuple[str, ...]] | None:
    """The configuration that a backup holds, and the keys it leaves out; None: it holds none, or is no backup."""
    try:
        with closing(sqlite3.connect(_reading(Path(file)), uri=True)) as connection:
            row = connection.execute("SELECT value FROM states WHERE kind = 'configuration-kept'").fetchone()
        kept = json.loads(row[0]) if row is not None else None
        return None if kept is None else (str(kept["text"]), tuple(kept["secrets"]))
    except (sqlite3.Error, ValueError, KeyError, TypeError):
        return None


def _put_in_place(source: Path, target: Path, stamp: str) -> Path | None:
    making = target.with_name(target.name + ".restoring")
    making.unlink(missing_ok=True)
    make(making, _contents(source))
    flush(making)
    aside = _set_aside(target, stamp) if target.exists() else None
    making.replace(target)
    flush(target.parent)
    return aside


def _set_aside(target: Path, stamp: str) -> Path:
    """The old store under another name too, whole before anything of it goes: a cut leaves a store in its place at every moment.

    Its log goes last, for SQLite would write that into the backup.
    """
    aside = target.with_name(f"{target.name}.aside-{stamp}")
    log, shared = (target.with_name(target.name + ending) for ending in ("-wal", "-shm"))
    if log.exists():
        _also_as(log, aside.with_name(f"{aside.name}-wal"))
    _also_as(target, aside)
    flush(target.parent)
    log.unlink(missing_ok=True)
    shared.unlink(missing_ok=True)
    return aside


def _also_as(path: Path, name: Path) -> None:
    """A second name; a copy where the file system knows no such thing."""
    try:
        name.hardlink_to(path)
    except FileExistsError:
        raise
    except OSError:
        shutil.copyfile(path, name)
        flush(name)


def _may_become_a_backup(target: Path, source: Path) -> None:
    """A file there already is replaced only by what it was: a backup. Raises StoreTrouble."""
    if source.exists() and target.exists() and target.samefile(source):
        raise StoreTrouble(f"{target} is the store itself; right would be another file, on another medium at best")
    not_a_place = no_file(target, "gateway.db")
    if not_a_place is not None:
        raise StoreTrouble(not_a_place)
    if not target.exists():
        return
    if target.stat().st_size and not is_sqlite(target):
        raise StoreTrouble(f"{target} is there already and is no backup; it is left as it is: give another name")


def _contents(source: Path) -> bytes:
    """With what still stands in its log: a store set aside may have one."""
    connection = sqlite3.connect(_reading(source), uri=True)
    try:
        return connection.serialize()
    finally:
        connection.close()


def _reading(file: Path) -> str:
    """The URI under which SQLite only reads; `?`, `#` and `%` in a name are part of it."""
    return f"file:{quote(str(file))}?mode=ro"


def _clear(making: Path) -> None:
    """What was left of a backup cut short: a journal of it would be taken for the next one's."""
    for ending in ("", "-journal", "-wal", "-shm"):
        making.with_name(making.name + ending).unlink(missing_ok=True)


def _verify(file: Path) -> None:
    try:
        connection = sqlite3.connect(_reading(file), uri=True)
        try:
            said = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
            version = connection.execute("SELECT version_num FROM alembic_version").fetchone()
            parts = set(connection.execute("SELECT type, name FROM sqlite_master"))
        finally:
            connection.close()
    except (sqlite3.Error, UnicodeDecodeError) as wrong:
        raise StoreDamaged(f"{file} is no whole backup of a store ({wrong}); nothing was touched") from None
    if said == "ok":
        said = _strange(version, parts, HEAD)
    if said:
        raise StoreDamaged(f"{file} is no whole backup of a store ({said}); nothing was touched")
    if version[0] > HEAD:
        raise StoreNewer(f"{file} is of a newer tank-gateway (schema {version[0]}); nothing was touched")


def _strange(version: Any, parts: set[tuple[str, str]], head: str) -> str:
    """What shows that a whole database is no store of ours; empty: nothing does."""
    if version is None or not isinstance(version[0], str):
        return "it does not say of which program it is"
    if any(kind not in ("table", "index") for kind, _ in parts):
        return "there are triggers or views in it, which would change what is kept"
    if version[0] < FIRST:
        return f"no program made its schema {version[0]!r}"
    missing = {"texts", "events", "states" if version[0] >= TYPED_STATES else "marks"} - {
        name for kind, name in parts if kind == "table"
    }
    if missing and version[0] <= head:
        return f"no table {', '.join(sorted(missing))}"
    return ""


def _sqlite(url: str) -> Path:
    file = sqlite_file(url)
    if file is None:
        raise StoreTrouble(f"the store {place(url)} is no SQLite file; use the database's own tools for backups")
    return file
