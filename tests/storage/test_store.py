"""The store: together or not at all, durable, private, one daemon at a time, backed up and restored, forgetful on request."""

import os
import re
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime, timedelta

import pytest

from gateway.errors import StoreDamaged, StoreHeld, StoreTrouble, StoreUnwritable
from gateway.facts import Delivered, Event, HeldPdu, Message, Text
from gateway.storage import SqlStore, hold, holder, open_store
from gateway.storage.backup import restore, rotate
from gateway.storage.engine import EngineDatabase, make_engine
from gateway.storage.schema import migrate

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


def event(kind="low", at=NOW, **more):
    return Event(
        kind=kind, at=at, heard_at=at, known_at=at, **{"tank": "house", "controller": "ridge", "input": "1", **more}
    )


@pytest.fixture
def url(tmp_path):
    return f"sqlite:///{tmp_path}/gateway.db"


@pytest.fixture(params=("sqlite", "engine"))
def store(url, request):
    """The store as it is on SQLite, and the same SQL through the engine that serves other databases."""
    opened = open_store(url, "Quandong Ridge")
    if request.param == "engine":
        opened.close()
        opened = SqlStore(EngineDatabase(make_engine(url), url), url, "Quandong Ridge")
    yield opened
    opened.close()


def test_together_or_not_at_all(store):
    """An exception in the block leaves nothing of it."""
    with pytest.raises(ValueError), store.write() as tx:
        tx.keep_event(event())
        raise ValueError
    with store.read() as reader:
        assert reader.events() == ()


def test_an_event_comes_back_as_it_was_kept(store):
    """Every field, the detail and the microseconds."""
    kept = event(
        at=NOW + timedelta(microseconds=7), text="ZONE 1 OPEN ñ", sender="+61491570006", detail={"a": [1, "ü"]}
    )
    with store.write() as tx:
        kept = tx.keep_event(kept)
    with store.read() as reader:
        assert reader.events() == (kept,)


@pytest.mark.parametrize(
    ("question", "kinds"),
    [
        ({"kinds": ("low", "low-over")}, "low-over"),
        ({"kinds": ("low", "low-over"), "known_by": NOW + HOUR / 2}, "low"),
        ({"kinds": ("low",), "tank": "spring"}, None),
        ({"kinds": ("low",), "known_by": NOW - HOUR}, None),
    ],
)
def test_last_event_as_known_then(store, question, kinds):
    """The newest of some kinds, of one tank, as it was known at a time."""
    with store.write() as tx:
        tx.keep_event(event("low", NOW))
        tx.keep_event(event("low-over", NOW + HOUR))
    with store.read() as reader:
        found = reader.last_event(**question)
    assert (found.kind if found else None) == kinds


def test_sites_share_a_store_and_see_only_their_own(store, url):
    """Two gateways on one database do not step on each other."""
    other = open_store(url, "Creek Flat")
    with store.write() as tx:
        tx.keep_event(event())
        tx.set_mark("a", 1)
    with other.write() as tx:
        tx.keep_event(event("high"))
    with other.read() as reader:
        assert [one.kind for one in reader.events()] == ["high"] and reader.mark("a") is None
        assert len(reader.events(all_sites=True)) == 2 and set(reader.sites()) == {"Quandong Ridge", "Creek Flat"}
    other.close()


def test_a_new_store_is_what_the_migrations_make(tmp_path, url):
    """Every table, column and index; only the layout of the SQL differs."""

    def made(file):
        with closing(sqlite3.connect(file)) as connection:
            rows = connection.execute(
                "SELECT type, name, sql FROM sqlite_master UNION ALL SELECT '', '', version_num FROM alembic_version"
            )
            return {(kind, name): re.sub(r"\s+", "", sql or "") for kind, name, sql in rows}

    open_store(url, "Quandong Ridge").close()
    migrate(f"sqlite:///{tmp_path}/migrated.db")
    assert made(tmp_path / "gateway.db") == made(tmp_path / "migrated.db")


def test_arrivals_are_known_by_what_they_are(store):
    """A believable stamp makes a PDU known for ever; without one only while its slot is not freed."""
    held = HeldPdu(memory="SM", slot=3, pdu="00", content=Delivered(sender="+61491570006", text="x", stamp=NOW))
    with store.write() as tx:
        tx.keep_arrival("k", held, NOW)
        assert tx.known_arrival("k", "ME", 9, stamped=True)
        assert tx.known_arrival("k", "SM", 3, stamped=False)
        assert not tx.known_arrival("k", "SM", 4, stamped=False)
        tx.slot_freed("SM", 3)
        assert not tx.known_arrival("k", "SM", 3, stamped=False)


def test_outbox_order_and_references(store):
    """Urgent first, then oldest; a report finds its segment by reference and number; references never repeat at once."""
    with store.write() as tx:
        one = tx.put_message(Message(contact="wren", number="+61491570156", text="a", at=NOW))
        two = tx.put_message(Message(contact="wren", number="+61491570156", text="b", at=NOW + HOUR, urgent=True))
        assert [message.id for message in tx.outbox()] == [two.id, one.id]
        tx.keep_references(one.id, "+61491570156", (7, 8), NOW)
        assert tx.whose_reference(8, "+61491570156") == (one.id, 2)
        assert tx.whose_reference(8, "+61491570157") is None
        assert not tx.report_segment(one.id, 2, "delivered")
        assert tx.report_segment(one.id, 1, "delivered")
        first, second = tx.next_reference(), tx.next_reference()
        assert first != second


def test_an_import_is_kept_once(store):
    """The same old text a second time is None."""
    old = Text(number="+61491570006", text="x", at=NOW, heard_at=NOW)
    with store.write() as tx:
        assert tx.keep_text(old, "read", import_key="k") is not None
        assert tx.keep_text(old, "read", import_key="k") is None


def test_forget_removes_a_person_and_keeps_events(store):
    """Texts are blanked, what happened stays."""
    with store.write() as tx:
        tx.keep_text(Text(number="+61491570156", text="OK", at=NOW, heard_at=NOW), "read", contact="wren")
        tx.keep_event(event("taken", text="OK", sender="+61491570156"))
        assert tx.forget("+61491570156") == 1
        assert [one.text for one in tx.texts()] == ["(forgotten)"]
        assert [(one.kind, one.text) for one in tx.events()] == [("taken", "(forgotten)")]


def test_only_the_owner_can_read_it(store, tmp_path):
    """Mode 0600."""
    assert (tmp_path / "gateway.db").stat().st_mode & 0o777 == 0o600


def test_one_daemon_at_a_time(url):
    """The second is told who has it; a lock ends with its holder."""
    lock = hold(url)
    with pytest.raises(StoreHeld, match=str(os.getpid())):
        hold(url)
    assert holder(url) == os.getpid()
    lock.release()
    assert holder(url) is None
    hold(url).release()


def test_backup_while_open_and_restore_sets_aside(store, url, tmp_path):
    """A backup is whole while others write; restore keeps the old store."""
    with store.write() as tx:
        tx.keep_event(event())
    store.backup(str(tmp_path / "b.db"))
    with store.write() as tx:
        tx.keep_event(event("low-over"))
    store.close()
    aside = restore(str(tmp_path / "b.db"), url, "20261125T120000Z")
    assert aside is not None and aside.exists()
    again = open_store(url, "Quandong Ridge")
    with again.read() as reader:
        assert [one.kind for one in reader.events()] == ["low"]
    again.close()


def test_restore_refuses_what_is_no_backup(store, url, tmp_path):
    """A broken backup touches nothing; a held store is not restored over."""
    (tmp_path / "b.db").write_bytes(b"nonsense" * 100)
    with pytest.raises(StoreDamaged):
        restore(str(tmp_path / "b.db"), url, "x")
    store.backup(str(tmp_path / "good.db"))
    lock = hold(url)
    with pytest.raises(StoreHeld):
        restore(str(tmp_path / "good.db"), url, "x")
    lock.release()


def test_seven_backups_are_kept(tmp_path):
    """The oldest go."""
    for day in range(10):
        (tmp_path / f"tank-gateway-2026112{day}T000000Z.db").touch()
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


def test_row_25_a_full_disk_is_said_and_it_resumes_by_itself(url):
    """Nothing half written; once there is room the same store goes on."""
    ended = subprocess.run([sys.executable, "-c", FULL_DISK, url], capture_output=True, text=True, timeout=60)
    assert ended.returncode == 0, ended.stderr
    assert "there is no room left" in ended.stdout and int(ended.stdout.split()[-1]) >= 2


KILLED = """
import os, signal, sys
from datetime import UTC, datetime
from gateway.facts import Event
from gateway.storage import open_store
store = open_store(sys.argv[1], "Q")
now = datetime(2026, 11, 25, tzinfo=UTC)
for number in range(10_000):
    with store.write() as tx:
        tx.keep_event(Event(kind="note", at=now, heard_at=now, known_at=now, text=str(number)))
    print(number, flush=True)
"""


def test_kill_nine_loses_no_acknowledged_commit(url):
    """What was said to be kept is there after kill -9."""
    process = subprocess.Popen([sys.executable, "-c", KILLED, url], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    said = [process.stdout.readline() for _ in range(50)]
    process.send_signal(signal.SIGKILL)
    said += process.stdout.read().splitlines()
    process.wait()
    store = open_store(url, "Q")
    with store.read() as reader:
        kept = [one.text for one in reader.events()]
    store.close()
    assert kept[: len([one for one in said if one.strip().isdigit()])] == [
        one.strip() for one in said if one.strip().isdigit()
    ]
