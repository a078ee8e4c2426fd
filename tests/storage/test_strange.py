"""Whole databases that are no store of ours: `restore` refuses them in words, and what was in place stays."""

import shutil
import sqlite3

import pytest

from gateway.errors import StoreDamaged
from gateway.storage import open_store
from gateway.storage.backup import restore
from tests.storage.conftest import SITE
from tests.storage.rows import event

VERSION = "CREATE TABLE alembic_version (version_num)"


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        (["DROP TABLE states"], "no table states"),
        (["DROP TABLE alembic_version", VERSION, "INSERT INTO alembic_version VALUES (7)"], "which program"),
        (["DROP TABLE alembic_version", VERSION, "INSERT INTO alembic_version VALUES (NULL)"], "which program"),
        (["DROP TABLE alembic_version", VERSION, "INSERT INTO alembic_version VALUES (x'ff00')"], "which program"),
        (["DELETE FROM alembic_version"], "which program"),
        (["UPDATE alembic_version SET version_num = '0000'"], "no program made its schema '0000'"),
        (["CREATE TRIGGER t AFTER INSERT ON events BEGIN DELETE FROM events; END"], "triggers or views"),
        (["CREATE VIEW v AS SELECT 1"], "triggers or views"),
    ],
)
def test_what_is_no_store_is_not_restored(file_store, file_url, tmp_path, changes, why):
    """Each would have been put in place, and every command after it would have failed; a trigger would have eaten events."""
    with file_store.write() as tx:
        tx.keep_event(event())
    file_store.backup(str(tmp_path / "b.db"))
    file_store.close()
    shutil.copyfile(tmp_path / "b.db", tmp_path / "strange.db")
    connection = sqlite3.connect(tmp_path / "strange.db", isolation_level=None)
    for change in changes:
        connection.execute(change)
    connection.close()
    with pytest.raises(StoreDamaged, match=why) as refused:
        restore(str(tmp_path / "strange.db"), file_url, "x")
    assert "nothing was touched" in refused.value.said
    store = open_store(file_url, SITE)
    with store.read() as reader:
        assert [event.kind for event in reader.events()] == ["low"]
    store.close()
