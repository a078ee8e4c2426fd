"""What `backup` and `restore` make of the names they are given: nothing that is there is lost, and odd characters are letters."""

import os
import shutil

import pytest

from gateway.errors import StoreTrouble
from gateway.storage import open_store
from gateway.storage.backup import backup, restore
from tests.storage.conftest import SITE
from tests.storage.rows import event


def kinds(url):
    """What stands in the store."""
    store = open_store(url, SITE)
    with store.read() as reader:
        found = [event.kind for event in reader.events()]
    store.close()
    return found


@pytest.fixture
def low(file_store):
    """A store with one event in it."""
    with file_store.write() as tx:
        tx.keep_event(event())
    return file_store


def test_a_backup_never_takes_the_stores_own_place(low, file_url, tmp_path):
    """A daemon at work would go on writing into a file that has no name any more."""
    (tmp_path / "link.db").symlink_to(tmp_path / "gateway.db")
    for name in ("gateway.db", "link.db", "sub/../gateway.db"):
        (tmp_path / "sub").mkdir(exist_ok=True)
        with pytest.raises(StoreTrouble, match="the store itself"):
            low.backup(str(tmp_path / name))
    with low.write() as tx:
        tx.keep_event(event("low-over"))
    low.close()
    assert kinds(file_url) == ["low", "low-over"]


@pytest.mark.parametrize("name", ["gateway.toml", "pipe", "folder", ""])
def test_a_backup_replaces_nothing_but_a_backup(low, tmp_path, monkeypatch, name):
    """A configuration, something that is no file (for root: a device), a folder, no name."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "gateway.toml").write_text("[site]\n")
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "folder").mkdir()
    with pytest.raises(StoreTrouble, match=r"right would be|another name"):
        low.backup(name)
    assert (tmp_path / "gateway.toml").read_text() == "[site]\n"
    assert (tmp_path / "pipe").is_fifo() and (tmp_path / "folder").is_dir()


@pytest.mark.parametrize("name", ["stick #1.db", "50%.db", "%41.db", "new?.db"])
def test_odd_characters_are_part_of_a_name(low, file_url, tmp_path, name):
    """Not of SQLite's own address of a file."""
    low.backup(str(tmp_path / name))
    low.close()
    restore(str(tmp_path / name), file_url, "x")
    assert kinds(file_url) == ["low"]


def test_a_store_set_aside_is_restored_with_its_log(low, file_url, tmp_path):
    """After a cut of the power the newest events stand in the log alone."""
    for ending in ("", "-wal"):
        shutil.copyfile(tmp_path / f"gateway.db{ending}", tmp_path / f"aside{ending}")
    with low.write() as tx:
        tx.keep_event(event("low-over"))
    low.close()
    restore(str(tmp_path / "aside"), file_url, "x")
    assert kinds(file_url) == ["low"]


def test_the_store_is_no_backup_of_itself(low, file_url, tmp_path):
    """Its log would be set aside from under it."""
    low.close()
    with pytest.raises(StoreTrouble, match="the store itself"):
        restore(str(tmp_path / "gateway.db"), file_url, "x")
    backup(file_url, str(tmp_path / "b.db"))
    assert kinds(file_url) == ["low"]
