"""A migration, a backup and a restore killed at every step, in a real process: old or new, and nothing between.

The stores that are migrated were made by the first version that had one (`data/first-version.sqlite3`: its own import, note, pause and
outbox) and by the last that kept its state as JSON under keys (`data/second-version.sqlite3`: every table and every key filled). The
ordinary suite takes a few steps, the last among them, `--soak` each, also those within a statement.
"""

import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from gateway.facts import Event
from gateway.storage import open_store
from gateway.storage.backup import backup, restore
from gateway.storage.tables import HEAD
from tests.storage.conftest import SITE
from tests.storage.killed import BACKUP, STORE
from tests.storage.rows import NOW

DATA = Path(__file__).parent / "data"
FIRST = DATA / "first-version.sqlite3"
CALL_OUT = 16
"""Which column of `texts` told of its call-out, before revision 0006."""


class Killer:
    """Kills some work at its steps; what each kill left lies in a folder of its own."""

    def __init__(self, folder, soak):
        self.folder = folder
        self.start = folder / "start"
        self.start.mkdir()
        self._soak = soak

    def after(self, work, every=4):
        """(the folder of the work that was never killed, the folders after each kill).

        In the ordinary suite at every so-manieth of the steps that lie not within a statement, at the last three, and within one.
        """
        whole = [int(step) for step in self._run(work, [0]).split()]
        few = sorted({*whole[::every], *whole[-3:], (whole[-2] + whole[-3]) // 2})
        killed = range(1, whole[-1] + 1) if self._soak else few
        self._run(work, killed)
        return self.folder / "0", [self.folder / str(step) for step in killed]

    def _run(self, work, steps):
        ended = subprocess.run(
            [sys.executable, "-m", "tests.storage.killed", work, str(self.folder), *map(str, steps)],
            capture_output=True,
            text=True,
        )
        assert ended.returncode == 0, ended.stderr[-2000:]
        return ended.stdout


@pytest.fixture
def killer(tmp_path, request):
    """Every step in the soak, a few in the ordinary suite."""
    return Killer(tmp_path, soak=request.config.getoption("--soak"))


def schema_of(file):
    """(the revision, every table and index as SQL)."""
    connection = sqlite3.connect(file)
    made = set(connection.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL"))
    version = connection.execute("SELECT version_num FROM alembic_version").fetchone() if made else None
    connection.close()
    return version and version[0], made


def rows_of(file):
    """Every row of every table but the revision's."""
    connection = sqlite3.connect(file)
    assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    names = [row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
    rows = {name: set(connection.execute(f"SELECT * FROM {name}")) for name in names if name != "alembic_version"}
    connection.close()
    return rows


def _without_pin(rows):
    """What told the SIM's PIN is erased, from the copy too."""
    return {**rows, "marks": {row for row in rows["marks"] if not row[1].startswith("pin")}}


def _first_columns(rows, older):
    """As many of the columns as the older rows have."""
    width = max(map(len, older), default=0)
    return {row[:width] for row in rows} if older else set(older)


def _without_call_outs(rows):
    """Their table goes, and the column of a text that told of its own."""
    texts = {(*row[:CALL_OUT], *row[CALL_OUT + 1 :]) for row in rows["texts"]}
    return {**{name: rows_ for name, rows_ in rows.items() if name != "call_outs"}, "texts": texts}


def open_and_close(place):
    """As the next start does."""
    open_store(f"sqlite:///{place / STORE}", SITE).close()


@pytest.mark.parametrize("made_by", ["first-version", "second-version"])
def test_row_47_a_migration_killed_at_any_step_leaves_old_or_new(killer, made_by):
    """An older version's store: at each step it is the old one or the new one, whole, and the next start goes on."""
    file = DATA / f"{made_by}.sqlite3"
    shutil.copy(file, killer.start / STORE)
    old = schema_of(file), rows_of(file)
    done, killed = killer.after("open", every=9)
    new = schema_of(done / STORE), rows_of(done / STORE)
    version = old[0][0]
    assert version < HEAD == new[0][0] and len(old[1]["texts"]) >= 31
    # a migration may add columns behind those that were there
    older = _without_call_outs(old[1])
    assert all(_first_columns(new[1][name], rows) == rows for name, rows in older.items() if name != "marks")
    assert "call_outs" not in new[1]
    assert len(new[1]["states"]) == len(_without_pin(old[1])["marks"])
    seen = set()
    for place in killed:
        found = schema_of(place / STORE), rows_of(place / STORE)
        assert found in (old, new), place.name
        seen.add(found[0][0])
        open_and_close(place)
        assert (schema_of(place / STORE), rows_of(place / STORE)) == new
        before = place / f"{STORE}.before-{HEAD}-was-{version}"
        assert (schema_of(before), _without_pin(rows_of(before))) == (old[0], _without_pin(old[1]))
    assert seen == {version, HEAD}


def test_row_47_a_store_killed_in_the_making_is_made_by_the_next_start(killer):
    """Nothing or everything; the next start makes it."""
    done, killed = killer.after("open", every=6)
    new = schema_of(done / STORE)
    assert new[0] == HEAD
    for place in killed:
        if (place / STORE).exists():
            assert schema_of(place / STORE) in ((None, set()), new), place.name
        open_and_close(place)
        assert schema_of(place / STORE) == new


@pytest.fixture
def with_older_backup(killer):
    """A store, and a backup from before its last event: (rows of the older, rows of the newer)."""
    url = f"sqlite:///{killer.start / STORE}"
    shutil.copy(FIRST, killer.start / STORE)
    store = open_store(url, SITE)
    store.backup(str(killer.start / BACKUP))
    with store.write() as tx:
        tx.keep_event(Event(kind="note", at=NOW, heard_at=NOW, known_at=NOW, text="since then"))
    store.close()
    for aside in killer.start.glob("*.before-*"):
        aside.unlink()
    return rows_of(killer.start / BACKUP), rows_of(killer.start / STORE)


def test_row_28_a_backup_cut_short_leaves_the_older_one_good(killer, with_older_backup):
    """At each step the file of that name is a whole backup, the older or the newer; the next one clears up and is made."""
    older, newer = with_older_backup
    _, killed = killer.after("backup")
    seen = []
    for place in killed:
        found = rows_of(place / BACKUP)
        assert found in (older, newer), place.name
        seen.append(found)
        restore(str(place / BACKUP), f"sqlite:///{place / 'tried.db'}", "x")
        backup(f"sqlite:///{place / STORE}", str(place / BACKUP))
        assert rows_of(place / BACKUP) == newer
        assert not list(place.glob("*.making*"))
    assert older in seen and newer in seen


def test_a_restore_cut_short_leaves_a_store_in_its_place_and_loses_nothing(killer, with_older_backup):
    """At each step there is a whole store, and what was in the old one is there or set aside whole; a second restore ends it."""
    older, newer = with_older_backup
    connection = sqlite3.connect(killer.start / STORE)
    connection.execute("PRAGMA wal_autocheckpoint = 0")
    connection.execute("UPDATE events SET kind = 'note' WHERE kind = 'alive'")
    connection.commit()
    for file in list(killer.start.iterdir()):
        shutil.copy(file, killer.folder / file.name)
    connection.close()
    for file in [file for file in killer.folder.iterdir() if file.is_file()]:
        shutil.move(file, killer.start / file.name)
    assert (killer.start / f"{STORE}-wal").stat().st_size
    held = killer.folder / "held"
    shutil.copytree(killer.start, held)
    newest = rows_of(held / STORE)
    _, killed = killer.after("restore")
    for place in killed:
        asides = [file for file in place.glob(f"{STORE}.aside-*") if not file.name.endswith(("-wal", "-shm"))]
        here = rows_of(place / STORE)
        assert here in (newest, newer, older), place.name
        assert here == newest or any(rows_of(aside) == newest for aside in asides), place.name
        restore(str(place / BACKUP), f"sqlite:///{place / STORE}", "again")
        assert rows_of(place / STORE) == older
