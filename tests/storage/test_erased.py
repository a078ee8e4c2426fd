"""What is erased is gone: from every question, and from the disk, while what it takes to know a repeat stays."""

from pathlib import Path

import pytest
from sqlalchemy import text

from gateway.facts import HeldPdu, Text, Undecodable
from gateway.storage import open_store
from tests.storage.conftest import SITE
from tests.storage.rows import HOUR, NOW, event

NUMBER = "+61491570156"
OLD, NEW = "07911694510711F0" + "AB" * 80, "07911694510711F0" + "CD" * 80


def keep(store, key, pdu, at, number="", slot=3):
    """One raw PDU, of that time."""
    with store.write() as tx:
        tx.keep_arrival(
            key, HeldPdu(memory="SM", slot=slot, pdu=pdu, content=Undecodable(reason="x")), at, number=number
        )


def raw(store):
    """The PDUs that are in the store, by their keys."""
    with store._database.reading() as connection:
        return dict(map(tuple, connection.execute(text("SELECT key, pdu FROM arrivals WHERE pdu <> ''"))))


def on_disk(store):
    """Every octet of the store's file and its log."""
    folder = Path(store.url.removeprefix("sqlite:///")).parent
    return b"".join(file.read_bytes() for file in folder.glob("gateway.db*"))


def test_old_raw_pdus_go_and_their_keys_stay(store, opened):
    """Only those before that time, only of this site; a slot that still holds one is known as before."""
    keep(store, "old", OLD, NOW - HOUR)
    keep(store, "new", NEW, NOW)
    other = opened("Creek Flat")
    keep(other, "theirs", OLD, NOW - HOUR)
    with store.write() as tx:
        assert tx.prune_raw(NOW) == 1 and tx.prune_raw(NOW) == 0
    assert raw(store) == {"new": NEW, "theirs": OLD}
    with store.read() as reader:
        assert reader.stored_in_slot("old", "SM", 3) and reader.last_arrival("new") is not None
        assert reader.last_arrival("old") is not None, "by our clock it may be old, and came a moment ago"


def test_nothing_of_an_erased_pdu_is_left_on_the_disk(file_store):
    """Neither in the file nor in its log, where older versions of its page stood; the others are there."""
    pdus = [f"{OLD}{number:04}" for number in range(40)]
    for number, pdu in enumerate(pdus):
        keep(file_store, f"old {number}", pdu, NOW - HOUR)
        keep(file_store, f"new {number}", f"{NEW}{number:04}", NOW)
    assert all(pdu.encode() in on_disk(file_store) for pdu in pdus)
    with file_store.write() as tx:
        assert tx.prune_raw(NOW) == len(pdus)
    left = on_disk(file_store)
    assert not [pdu for pdu in pdus if pdu[-40:].encode() in left] and f"{NEW}0039".encode() in left


def test_nothing_of_somebody_forgotten_is_left_on_the_disk(file_store):
    """Their number and their words."""
    keep(file_store, "theirs", OLD, NOW, number=NUMBER)
    with file_store.write() as tx:
        tx.keep_text(Text(number=NUMBER, text="a secret of theirs", at=NOW, heard_at=NOW), "read")
        tx.keep_event(event("note", text="a secret of theirs", sender=NUMBER))
    assert b"a secret of theirs" in on_disk(file_store)
    with file_store.write() as tx:
        tx.forget(NUMBER)
    assert not any(said in on_disk(file_store) for said in (b"a secret of theirs", NUMBER.encode(), OLD.encode()))


@pytest.mark.xdist_group("postgresql")
def test_a_server_clears_up_at_once(postgresql):
    """Older versions of a changed row go when it is erased, not when the server gets round to it."""
    store = open_store(postgresql.empty(), SITE)
    keep(store, "old", OLD, NOW - HOUR)
    with store.write() as tx:
        tx.prune_raw(NOW)
    with store._database.reading() as connection:
        cleared = "SELECT vacuum_count FROM pg_stat_user_tables WHERE relname = 'arrivals'"
        assert connection.execute(text(cleared)).scalar() == 1
    store.close()
