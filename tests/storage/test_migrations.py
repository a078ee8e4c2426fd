"""The schema: what the first version kept is there and understood, the tables are what the migrations make, a newer store is let be."""

import json
import re
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import text

from gateway.__main__ import main
from gateway.errors import StoreNewer
from gateway.storage import open_store
from gateway.storage.database import make_engine
from gateway.storage.schema import migrate
from gateway.storage.tables import HEAD
from tests.household import write_config
from tests.storage.conftest import SITE

FIRST = Path(__file__).parent / "data" / "first-version.sqlite3"
THEN = "2025-12-31T09:00:00+00:00"


@pytest.fixture
def household(tmp_path, capsys):
    """The household's commands on a copy of the first version's store: words → the JSON they print."""
    file = write_config(tmp_path)
    shutil.copy(FIRST, tmp_path / "gateway.db")

    def printed(*words):
        assert main([*words, "--json", "--config", str(file)]) == 0
        return json.loads(capsys.readouterr().out)

    return printed


def test_what_the_first_version_kept_is_understood(household):
    """Its events and texts in full, a tank that was low then, a message that still waits, a pause, a half of a text."""
    events = household("history")["events"]
    kinds = [one["kind"] for one in events]
    assert (kinds.count("low"), kinds.count("low-over"), kinds.count("unread"), kinds.count("note")) == (3, 2, 1, 1)
    assert {one["site"] for one in events} == {SITE} and "ÑANDÚ" in json.dumps(events, ensure_ascii=False)
    texts = household("texts")["texts"]
    assert [one["state"] for one in texts if one["way"] == "out"] == ["sent", "waiting", "waiting"] and len(texts) == 31
    tanks = {one["id"]: one for one in household("tanks", "--at", THEN)["tanks"]}
    assert tanks["spring"]["state"] == "low" and tanks["spring"]["litres"] and tanks["house"]["state"] == "ok"


def test_what_the_first_version_had_in_hand_is_gone_on_with(tmp_path):
    """The outbox, the open call-out, the part that waits, the report that is still to come, the last reference."""
    shutil.copy(FIRST, tmp_path / "gateway.db")
    store = open_store(f"sqlite:///{tmp_path}/gateway.db", SITE)
    with store.write() as tx:
        assert [one.text[:11] for one in tx.outbox()] == ["still waits", "somebody: w"]
        (call_out,) = tx.call_outs()
        assert [one.state for one in tx.messages_of(call_out=call_out.id)] == ["sent"]
        assert [one.text for one in tx.waiting_parts("+61491570006", 7, 2)] == ["first half"]
        assert tx.last_arrival("k1") is not None
        assert tx.whose_reference(7, "+61491570156") is not None and tx.next_reference() == 42
        assert len(tx.pauses()) == 1 and tx.mark("float:ridge:2")["state"] == "active"
    store.close()


def in_a_file(url):
    """Every table and index as SQL; the length of a text, which SQLite does not mind, left out."""
    with closing(sqlite3.connect(url.removeprefix("sqlite:///"))) as connection:
        rows = connection.execute(
            "SELECT type, name, sql FROM sqlite_master UNION ALL SELECT '', '', version_num FROM alembic_version"
        )
        return {
            (kind, name): re.sub(r"\s+", "", re.sub(r"VARCHAR\(\d+\)", "TEXT", sql or "")) for kind, name, sql in rows
        }


ON_A_SERVER = """
SELECT table_name || '.' || column_name, data_type || ' ' || is_nullable || ' ' || coalesce(character_maximum_length, 0)
FROM information_schema.columns WHERE table_schema = current_schema()
UNION ALL SELECT conrelid::regclass::text || '.' || conname, pg_get_constraintdef(oid)
FROM pg_constraint WHERE connamespace = current_schema()::regnamespace
UNION ALL SELECT indexname, indexdef FROM pg_indexes WHERE schemaname = current_schema()
UNION ALL SELECT 'version', version_num FROM alembic_version
"""


def on_a_server(url):
    """Every column, constraint and index as the server's catalogue has it."""
    engine = make_engine(url)
    with engine.begin() as connection:
        rows = connection.execute(text(ON_A_SERVER)).all()
    engine.dispose()
    return dict(map(tuple, rows))


def test_the_tables_in_a_file_are_what_the_migrations_make(tmp_path):
    """A new store is made from the tables, an old one by the migrations."""
    new, migrated = f"sqlite:///{tmp_path}/new.db", f"sqlite:///{tmp_path}/migrated.db"
    open_store(new, SITE).close()
    migrate(migrated)
    assert in_a_file(new) == in_a_file(migrated)


@pytest.mark.xdist_group("postgresql")
def test_the_tables_on_a_server_are_what_the_migrations_make(postgresql):
    """The same there, lengths and all."""
    new, migrated = postgresql.empty(), postgresql.empty()
    open_store(new, SITE).close()
    migrate(migrated)
    assert on_a_server(new) == on_a_server(migrated)


@pytest.mark.xdist_group("postgresql")
def test_a_server_of_the_first_version_is_brought_up_to_date(postgresql):
    """Its rows stay, and what it had no room for has room."""
    url = postgresql.empty()
    migrate(url, "0001")
    engine = make_engine(url)
    with engine.begin() as connection:
        connection.execute(text("INSERT INTO marks (site, key, value) VALUES ('Q', 'a', '1')"))
    engine.dispose()
    store = open_store(url, "Q")
    with store.write() as tx:
        assert tx.mark("a") == 1
        tx.set_mark("k" * 300, 2)
    store.close()


def test_row_48_a_newer_store_is_refused_untouched_on_both_engines(store, url):
    """In words, and its revision stays."""
    store.close()
    engine = make_engine(url)
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(StoreNewer, match=f"schema 9999, this program knows {HEAD}"):
        open_store(url, SITE)
    with engine.begin() as connection:
        assert connection.execute(text("SELECT version_num FROM alembic_version")).scalar() == "9999"
    engine.dispose()
