"""The schema: what the first version kept is there and understood, the tables are what the migrations make, a newer store is let be."""

import json
import re
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from sqlalchemy import func, select, text

from gateway.__main__ import main
from gateway.errors import StoreNewer
from gateway.facts.states.controllers_and_tanks import (
    Asked,
    BatteryEpisode,
    ChatterEpisode,
    FloatMemory,
    PendingText,
    PowerLost,
    Silence,
    SupplyWeaker,
    Watched,
    WatchedTogether,
)
from gateway.facts.states.declared import STATES
from gateway.facts.states.gateway_itself import (
    CalendarRun,
    CreditAnswer,
    CreditFailures,
    DayLimitTold,
    EarlyReport,
    EarlyReports,
    LastReference,
    MistakeTold,
    ModemCondition,
    ModemIdentity,
    Outage,
    PublishedSite,
    Trouble,
    WeakSignal,
)
from gateway.facts.states.people import NotUnderstood, RecentTexts
from gateway.settings.sharing import settings_from_shared
from gateway.storage import open_store
from gateway.storage.database import make_engine
from gateway.storage.migrate import migrate
from gateway.storage.migrations.versions.v0003_states import TROUBLES
from gateway.storage.tables import HEAD, SITE_TABLES
from tests.household import ROBIN, write_config
from tests.storage.conftest import SITE

DATA = Path(__file__).parent / "data"
FIRST, SECOND = DATA / "first-version.sqlite3", DATA / "second-version.sqlite3"
FLOATS = {"hut:1", "hut:2", "ridge:1", "ridge:2"}
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
    kinds = [event["kind"] for event in events]
    assert (kinds.count("low"), kinds.count("low-over"), kinds.count("unread"), kinds.count("note")) == (3, 2, 1, 1)
    assert {event["site"] for event in events} == {SITE} and "ÑANDÚ" in json.dumps(events, ensure_ascii=False)
    texts = household("texts")["texts"]
    assert [text["state"] for text in texts if text["way"] == "out"] == ["sent", "waiting", "waiting"] and len(
        texts
    ) == 31
    tanks = {tank["id"]: tank for tank in household("tanks", "--at", THEN)["tanks"]}
    assert tanks["spring"]["state"] == "low" and tanks["spring"]["litres"] and tanks["house"]["state"] == "ok"


def test_what_the_first_version_had_in_hand_is_gone_on_with(tmp_path):
    """The outbox, the part that waits, the report that is still to come, the last reference."""
    shutil.copy(FIRST, tmp_path / "gateway.db")
    store = open_store(f"sqlite:///{tmp_path}/gateway.db", SITE)
    with store.write() as tx:
        assert [message.text[:11] for message in tx.outbox()] == ["still waits", "somebody: w"]
        assert tx.alarms() == ()  # its call-outs said nothing but whom they were about
        assert [part.text for part in tx.waiting_parts("+61491570006", 7, 2)] == ["first half"]
        assert tx.last_arrival("k1") is not None
        assert tx.sent_segments(7, "+61491570156") and tx.next_reference() == 42
        assert len(tx.pauses()) == 1 and tx.state(FloatMemory, "ridge:2").state == "active"
    store.close()


AT_CUT, LATER = datetime(2026, 11, 24, 23, 29, 40, tzinfo=UTC), datetime(2026, 11, 25, 3, 50, 40, tzinfo=UTC)
REMEMBERED = {
    Asked: {"hut": Asked(at=datetime(2026, 11, 23, 22, 0, tzinfo=UTC))},
    Watched: dict.fromkeys(("hut", "ridge"), Watched(since=datetime(2026, 11, 1, 3, 0, tzinfo=UTC))),
    WatchedTogether: {"": WatchedTogether(since=datetime(2026, 10, 30, 1, 2, 3, tzinfo=UTC))},
    Silence: {
        "hut": Silence(
            since=datetime(2026, 11, 7, 2, 30, tzinfo=UTC), flagged_at=datetime(2026, 11, 23, 22, 0, tzinfo=UTC)
        )
    },
    PowerLost: {"ridge": PowerLost(since=datetime(2026, 11, 24, 23, 20, tzinfo=UTC))},
    SupplyWeaker: {"hill": SupplyWeaker(told_at=datetime(2026, 11, 6, 4, 0, tzinfo=UTC))},
    NotUnderstood: {"wren": NotUnderstood(answered_at=datetime(2026, 11, 24, 23, 26, 40, tzinfo=UTC))},
    WeakSignal: {"": WeakSignal(since=AT_CUT)},
    MistakeTold: {"": MistakeTold(at=AT_CUT)},
    ModemCondition: {
        "": ModemCondition(signal_percent=5.0, registered=False, operator=None, sim="ready", at=AT_CUT),
    },
    ModemIdentity: {
        "": ModemIdentity(model="Bellbird M2", memories=("SM", "ME"), announces=True, notes=("no +CLAC",)),
    },
    Outage: {
        "": Outage(since=datetime(2026, 11, 25, 1, 50, 40, tzinfo=UTC), off_s=7200.0, cleanly=True, surely=True),
    },
    CalendarRun: {
        "credit": CalendarRun(at=AT_CUT),
        "weekly": CalendarRun(at=datetime(2026, 11, 23, 12, 0, tzinfo=UTC)),
    },
    CreditFailures: {"": CreditFailures(times=3)},
    CreditAnswer: {"": CreditAnswer(at=AT_CUT, said=None, amount=None, why="no answer")},
    DayLimitTold: {"": DayLimitTold(day=date(2026, 11, 25))},
    LastReference: {"": LastReference(number=0)},
    EarlyReports: {
        "": EarlyReports(
            reports=tuple(
                EarlyReport(reference=reference, number="+61491570157", outcome="delivered", status=0)
                for reference in (44, 55, 222)
            )
        )
    },
}
"""What stands in the second version's store under keys, as the states of today."""


def test_what_the_second_version_remembered_is_remembered(tmp_path):
    """Every key that a program ever wrote, each as the state that it has become; none is left over."""
    store = second(tmp_path)
    with store.read() as reader:
        for kind, values in REMEMBERED.items():
            assert reader.states(kind) == values
        assert set(reader.states(Trouble)) == set(TROUBLES)
        assert set(reader.states(ChatterEpisode)) == set(reader.states(FloatMemory)) == FLOATS
        assert reader.state(FloatMemory, "ridge:1").pending_text == PendingText(
            text="ZONE 1 SHUT 7101", sender="+61491570006"
        )
        assert reader.state(FloatMemory, "ridge:1").pending_at == LATER
        assert reader.state(BatteryEpisode, "ridge").last_volts == 11.4
        assert [said for _, said in reader.state(RecentTexts, "wren").heard] == ["ok", "what is this", "work hill 3h"]
        assert [tank.id for tank in settings_from_shared(reader.state(PublishedSite).configuration).tanks][-1] == "hill"
    with store._database.reading() as connection:
        kinds = set(connection.execute(text("SELECT kind FROM states")).scalars())
    others = (Trouble, ChatterEpisode, FloatMemory, BatteryEpisode, RecentTexts, PublishedSite)
    assert kinds == {STATES[kind].name for kind in (*REMEMBERED, *others)}
    store.close()


def test_what_the_second_version_kept_is_understood(tmp_path):
    """Every table has rows in it; what was in hand goes on."""
    store = second(tmp_path)
    with store._database.reading() as connection:
        assert all(connection.execute(select(func.count()).select_from(table)).scalar() for table in SITE_TABLES)
    with store.read() as reader:
        assert len(reader.outbox()) == 55 and len(reader.events(kinds=("silent", "heard-again"))) == 5
        assert [(sent.message, sent.segment) for sent in reader.sent_segments(116, ROBIN)][-1] == (39, 2) and len(
            reader.pauses()
        ) == 1
    store.close()


@pytest.mark.parametrize(
    ("key", "value", "kind", "becomes"),
    [
        ("battery:hut", '{"low_since":null,"last_volts":12.5}', BatteryEpisode, BatteryEpisode(last_volts=12.5)),
        ("battery:hut", '{"last_volts":12.5,"of a newer program":1}', BatteryEpisode, BatteryEpisode(last_volts=12.5)),
        ("float:hut:9", '{"state":"idle","since":null}', FloatMemory, FloatMemory(state="idle")),
        ("power:hut", '{"until":"never"}', PowerLost, None),
        ("power:hut", "5", PowerLost, None),
        ("power:hut", "no JSON", PowerLost, None),
        ("what no program wrote", "1", PowerLost, None),
    ],
)
def test_odd_keys_and_values_are_kept(tmp_path, key, value, kind, becomes):
    """What an older program left out has its default; what cannot be read is kept as it is, and nothing stumbles over it."""
    shutil.copy(SECOND, tmp_path / "gateway.db")
    with closing(sqlite3.connect(tmp_path / "gateway.db", isolation_level=None)) as connection:
        connection.execute("DELETE FROM marks WHERE key = ?", (key,))
        connection.execute("INSERT INTO marks VALUES (?, ?, ?)", (SITE, key, value))
    store = open_store(f"sqlite:///{tmp_path}/gateway.db", SITE)
    with store.read() as reader:
        assert reader.state(kind, key.partition(":")[2]) == becomes
    with store._database.reading() as connection:
        left = connection.execute(text("SELECT subject, value FROM states WHERE kind = 'mark'")).all()
    assert [tuple(row) for row in left] == ([] if becomes else [(key, value)])
    store.close()


def second(folder):
    """The second version's store, opened by this program."""
    shutil.copy(SECOND, folder / "gateway.db")
    return open_store(f"sqlite:///{folder}/gateway.db", SITE)


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
        connection.execute(text("INSERT INTO marks (site, key, value) VALUES ('Q', 'credit:failed', '1')"))
    engine.dispose()
    store = open_store(url, "Q")
    with store.write() as tx:
        assert tx.state(CreditFailures) == CreditFailures(times=1)
        tx.set_state(CreditFailures(times=2), "k" * 300)
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


def test_row_75_what_told_the_pin_is_erased(tmp_path):
    """An older program kept a hash of it: gone from the store and from the copy that is made before."""
    with sqlite3.connect(SECOND) as kept:
        (hashed,) = kept.execute("SELECT value FROM marks WHERE key = 'pin-tried'").fetchone()
    second(tmp_path).close()
    files = [file for file in tmp_path.iterdir() if file.is_file()]
    assert len(files) >= 2
    assert not [file.name for file in files if hashed.strip('"').encode() in file.read_bytes()]
