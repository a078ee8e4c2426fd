"""A disk without room where it is met first: by the lock, a backup, a restore, a command that only reads. Each is said in words."""

import sqlite3
import subprocess
import sys

import pytest

from gateway.errors import StoreFull, StoreTrouble, StoreUnwritable
from gateway.storage import database_errors as errors
from gateway.storage.database_errors import said_of
from tests.storage.rows import event

NO_ROOM = """
import resource, signal, sys
from gateway.errors import StoreFull
from gateway.storage import hold, open_store
from gateway.storage.backup import backup, restore
url, file = sys.argv[2:]
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (0, resource.RLIM_INFINITY))
try:
    {"hold": lambda: hold(url, "Q"), "backup": lambda: backup(url, file), "restore": lambda: restore(file, url, "x")}[sys.argv[1]]()
    sys.exit("the disk was not full")
except StoreFull as full:
    print(full.said)
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
hold(url, "Q").release()
"""


@pytest.mark.parametrize("what", ["hold", "backup", "restore"])
def test_no_room_is_said_and_nothing_is_left_half_made(file_store, file_url, tmp_path, what):
    """The file's limit stands in for the disk's; the lock can be had once there is room."""
    with file_store.write() as tx:
        tx.keep_event(event())
    file = tmp_path / "b.db"
    if what == "restore":
        file_store.backup(str(file))
    file_store.close()
    ended = subprocess.run(
        [sys.executable, "-c", NO_ROOM, what, file_url, str(file)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert ended.returncode == 0, ended.stderr
    assert str(file if what == "backup" else tmp_path / "gateway.db") in ended.stdout
    assert not list(tmp_path.glob("*.making*"))
    assert file_url.endswith("/gateway.db") and (tmp_path / "gateway.db").stat().st_size > 0


def test_a_backup_that_cannot_be_made_names_its_own_place(file_store, tmp_path):
    """Not the store's, whose disk is well."""
    (tmp_path / "stick").write_text("no folder")
    with pytest.raises(StoreTrouble, match=r"there is no folder .*stick"):
        file_store.backup(str(tmp_path / "stick" / "b.db"))
    with pytest.raises(StoreUnwritable, match=r"the backup .*\.db cannot be made .*name too long"):
        file_store.backup(str(tmp_path / f"{'b' * 300}.db"))


@pytest.mark.parametrize(("least", "kind"), [(1 << 62, StoreFull), (0, StoreUnwritable)])
def test_an_io_error_for_want_of_room_is_told_as_that(file_url, monkeypatch, least, kind):
    """A command that only reads needs the small file readers share, and a full disk has no room for it."""
    monkeypatch.setattr(errors, "LEAST_BYTES", least)
    wrong = sqlite3.OperationalError("disk I/O error")
    wrong.sqlite_errorname = "SQLITE_IOERR_SHMSIZE"
    assert type(said_of(wrong, file_url)) is kind
