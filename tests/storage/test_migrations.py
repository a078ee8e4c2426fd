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
from gateway.storage.engine import make_engine
from gateway.storage.schema import HEAD, migrate
from gateway.storage.store import open_store
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


def test_a_new_file_is_what_the_migrations_make(file_store, tmp_path):
    """Every table, column and index; only the layout of the SQL differs."""

    def made(file):
        with closing(sqlite3.connect(file)) as connection:
            rows = connection.execute(
                "SELECT type, name, sql FROM sqlite_master UNION ALL SELECT '', '', version_num FROM alembic_version"
            )
            return {(kind, name): re.sub(r"\s+", "", sql or "") for kind, name, sql in rows}

    migrate(f"sqlite:///{tmp_path}/migrated.db")
    assert made(tmp_path / "gateway.db") == made(tmp_path / "migrated.db")


@pytest.mark.xdist_group("postgresql")
def test_a_server_of_the_first_version_is_brought_up_to_date(postgresql):
    """Its rows stay, and what it had no room for has room."""
    url = postgresql.empty()
    at_revision(url, "0001")
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


def at_revision(url, revision):
    """An empty store as an older program made it."""
    from alembic import command
    from alembic.config import Config

    from gateway.storage.schema import MIGRATIONS

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    engine = make_engine(url)
    with engine.connect() as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, revision)
    engine.dispose()
