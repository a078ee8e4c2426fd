"""The store in a file: private, backed up and restored, on a disk that is full or not there."""

import os
import sqlite3
import subprocess
import sys

import pytest

from gateway.errors import StoreDamaged, StoreHeld, StoreTrouble, StoreUnwritable
from gateway.facts.states.controllers_and_tanks import FloatMemory
from gateway.facts.states.gateway_itself import PinTried
from gateway.storage import hold, open_store
from gateway.storage.backup import restore, rotate
from gateway.storage.tables import SITE_TABLES
from tests.storage.conftest import SITE
from tests.storage.rows import event


def test_only_the_owner_can_read_it(file_store, tmp_path):
    """Mode 0600."""
    assert (tmp_path / "gateway.db").stat().st_mode & 0o777 == 0o600


@pytest.mark.skipif(os.geteuid() != 0, reason="only root makes files for somebody else")
def test_what_root_makes_belongs_to_the_folders_owner(tmp_path):
    """`sudo tank-gateway doctor` before the first start, `restore` after a mishap: the service can still write."""
    folder = tmp_path / "state"
    folder.mkdir()
    os.chown(folder, 12345, 12346)
    url = f"sqlite:///{folder}/gateway.db"
    store = open_store(url, SITE)
    with store.write() as tx:
        tx.keep_event(event())
    hold(url, SITE).release()
    store.backup(str(tmp_path / "b.db"))
    theirs = {(file.name, file.stat().st_uid, file.stat().st_gid) for file in folder.iterdir()}
    assert theirs == {(f"gateway.db{end}", 12345, 12346) for end in ("", "-wal", "-shm", ".lock")}
    store.close()
    restore(str(tmp_path / "b.db"), url, "x")
    assert {file.stat().st_uid for file in folder.iterdir()} == {12345}


def test_backup_while_open_and_restore_sets_aside(file_store, file_url, tmp_path):
    """A backup is whole while others write; restore keeps the old store."""
    with file_store.write() as tx:
        tx.keep_event(event())
    file_store.backup(str(tmp_path / "b.db"))
    with file_store.write() as tx:
        tx.keep_event(event("low-over"))
    file_store.close()
    aside = restore(str(tmp_path / "b.db"), file_url, "20261125T120000Z")
    assert aside is not None and aside.exists()
    again = open_store(file_url, SITE)
    with again.read() as reader:
        assert [event.kind for event in reader.events()] == ["low"]
    again.close()


def test_restore_refuses_what_is_no_backup(file_store, file_url, tmp_path):
    """A broken backup touches nothing; a held store is not restored over."""
    (tmp_path / "b.db").write_bytes(b"nonsense" * 100)
    with pytest.raises(StoreDamaged):
        restore(str(tmp_path / "b.db"), file_url, "x")
    file_store.backup(str(tmp_path / "good.db"))
    lock = hold(file_url, "")
    with pytest.raises(StoreHeld):
        restore(str(tmp_path / "good.db"), file_url, "x")
    lock.release()


def test_a_site_that_is_renamed_keeps_its_record(file_store, file_url):
    """What a file holds is its gateway's, under whatever name; where two have written, nobody's is taken."""
    with file_store.write() as tx:
        tx.keep_event(event())
        tx.set_state(FloatMemory(state="active"), "ridge:1")
    connection = sqlite3.connect(file_url.removeprefix("sqlite:///"))
    made = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name <> 'alembic_version'")
    assert {row[0] for row in made} == {table.name for table in SITE_TABLES}
    connection.close()
    renamed = open_store(file_url, "The Ridge")
    assert renamed.adopt() == SITE and renamed.adopt() is None
    with renamed.read() as reader:
        assert [event.site for event in reader.events()] == ["The Ridge"] and reader.state(FloatMemory, "ridge:1")
        assert reader.state_of_others(FloatMemory) == {}
    with file_store.write() as tx:
        tx.set_state(PinTried(mark="a"))
    assert renamed.adopt() is None and file_store.adopt() is None
    renamed.close()


def test_seven_backups_are_kept(tmp_path):
    """The oldest go, and so does what was left of one that was cut short."""
    for day in range(10):
        (tmp_path / f"tank-gateway-2026112{day}T000000Z.db").touch()
    (tmp_path / "tank-gateway-20261123T000000Z.db.making").touch()
    (tmp_path / "tank-gateway-20261123T000000Z.db.making-journal").touch()
    assert len(rotate(str(tmp_path))) == 3 and len(list(tmp_path.iterdir())) == 7


def test_no_store_and_a_store_that_cannot_be_made_are_said(tmp_path):
    """Words, no traceback."""
    with pytest.raises(StoreTrouble, match="no store"):
        open_store(f"sqlite:///{tmp_path}/none.db", "Q", create=False)
    (tmp_path / "file").touch()
    with pytest.raises(StoreUnwritable):
        open_store(f"sqlite:///{tmp_path}/file/gateway.db", "Q")


FULL_DISK = """
import resource, signal, sys
from datetime import UTC, datetime
from gateway.errors import StoreFull
from gateway.facts import Event
from gateway.storage import open_store
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
store = open_store(sys.argv[1], "Q")
now = datetime(2026, 11, 25, tzinfo=UTC)
big = Event(kind="note", at=now, heard_at=now, known_at=now, text="x" * 400_000)
def keep():
    with store.write() as tx:
        tx.keep_event(big)
keep()
resource.setrlimit(resource.RLIMIT_FSIZE, (600_000, resource.RLIM_INFINITY))
try:
    for _ in range(8):
        keep()
    sys.exit("the disk was not full")
except StoreFull as full:
    print(full.said)
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
keep()
with store.read() as reader:
    print(len(reader.events()))
"""


def test_row_25_a_full_disk_is_said_and_it_resumes_by_itself(file_url):
    """Nothing half written; once there is room the same store goes on."""
    ended = subprocess.run([sys.executable, "-c", FULL_DISK, file_url], capture_output=True, text=True, timeout=120)
    assert ended.returncode == 0, ended.stderr
    assert "there is no room left" in ended.stdout and int(ended.stdout.split()[-1]) >= 2
