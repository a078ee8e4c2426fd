"""The store on both engines: together or not at all, durable, one daemon at a time, forgetful on request."""

import os
import signal
import subprocess
import sys
from dataclasses import replace
from datetime import timedelta

import pytest

from gateway.errors import StoreHeld
from gateway.facts import Delivered, HeldPdu, Message, Text
from gateway.facts.states.gateway_itself import PinTried
from gateway.ports import Arrival
from gateway.storage import hold, holder, open_store
from gateway.storage import sqlite as sqlite_door
from tests.storage.rows import HOUR, NOW, event


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
        at=NOW + timedelta(microseconds=7), text="LINE 1 MADE ñ", sender="+61491570006", detail={"a": [1, "ü"]}
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


def test_an_event_stamped_ahead_is_the_last_until_the_next_is_kept(store):
    """One absurd stamp: it holds for now, and no longer than until another came."""
    question = {"kinds": ("low", "low-over"), "known_by": NOW + HOUR}
    with store.write() as tx:
        tx.keep_event(event("low-over", NOW - HOUR))
        tx.keep_event(replace(event("low", NOW + 90_000 * HOUR), heard_at=NOW, known_at=NOW))
        assert tx.last_event(**question).kind == "low"
        tx.keep_event(event("low-over", NOW))
        assert tx.last_event(**question).kind == "low-over"


def held(pdu: str, slot: int = 3) -> HeldPdu:
    content = Delivered(sender="+61491570006", text="x", stamp=NOW)
    return HeldPdu(memory="SM", slot=slot, pdu=pdu, content=content)


def test_a_pdu_is_known_in_its_slot_until_that_is_free(store):
    """The very memory and slot, and no other; once it is freed, the same octets there came anew."""
    with store.write() as tx:
        tx.keep_arrival("k", held("00"), NOW)
        assert tx.stored_in_slot("k", "SM", 3)
        assert not tx.stored_in_slot("k", "SM", 4) and not tx.stored_in_slot("k", "ME", 3)
        tx.slot_freed("SM", 3)
        assert not tx.stored_in_slot("k", "SM", 3)


def test_an_arrival_is_the_last_that_was_no_repeat(store):
    """A repeat is known by its slot, but it is not what later octets are held against."""
    with store.write() as tx:
        assert tx.last_arrival("k") is None
        first = tx.keep_arrival("k", held("00"), NOW)
        tx.keep_arrival("k", held("00", 4), NOW + HOUR, repeat=True)
        assert tx.last_arrival("k") == Arrival(id=first, heard_at=NOW)
        assert tx.stored_in_slot("k", "SM", 4)


def test_others_since_an_arrival_are_that_senders_alone(store):
    """Each PDU counts once; neither what came before, nor the same octets, nor anybody else's."""
    with store.write() as tx:
        tx.keep_arrival("before", held("00"), NOW, number="+61491570006")
        first = tx.keep_arrival("k", held("01"), NOW, number="+61491570006")
        tx.keep_arrival("k", held("01"), NOW, number="+61491570006", repeat=True)
        tx.keep_arrival("stranger", held("02"), NOW, number="+61491570110")
        assert tx.others_since(first, "+61491570006") == 0
        for key in ("other", "other", "another"):
            tx.keep_arrival(key, held("03"), NOW, number="+61491570006")
        assert tx.others_since(first, "+61491570006") == 2


def test_outbox_order_and_references(store):
    """Urgent first, then oldest; a report finds its segment by reference and number; references never repeat at once."""
    with store.write() as tx:
        one = tx.put_message(Message(contact="wren", number="+61491570156", text="a", at=NOW))
        two = tx.put_message(Message(contact="wren", number="+61491570156", text="b", at=NOW + HOUR, urgent=True))
        assert [message.id for message in tx.outbox()] == [two.id, one.id]
        tx.keep_references(one.id, "+61491570156", (7, 8), NOW)
        assert [(sent.message, sent.segment) for sent in tx.sent_segments(8, "+61491570156")] == [(one.id, 2)]
        assert tx.sent_segments(8, "+61491570157") == ()
        assert not tx.report_segment(one.id, 2, "delivered")
        assert tx.report_segment(one.id, 1, "delivered")
        first, second = tx.next_reference(), tx.next_reference()
        assert first != second


def test_a_message_has_the_time_at_which_it_left(store):
    """What the night held was no message of the night; until it leaves, it has the time at which it was written."""
    with store.write() as tx:
        held = tx.put_message(Message(contact="wren", number="+61491570156", text="held", at=NOW))
        tx.put_message(Message(contact="wren", number="+61491570156", text="waits", at=NOW + HOUR))
        tx.change_message(held.id, state="sent", at=NOW + 3 * HOUR)
    with store.read() as reader:
        told = [("waits", NOW + HOUR), ("held", NOW + 3 * HOUR)]
        assert [(text.text, text.at) for text in reader.texts()] == told
        assert [(text.text, text.at) for text in reader.each_text()] == told
        assert [text.text for text in reader.each_text(since=NOW + 2 * HOUR)] == ["held"]
        assert [text.text for text in reader.texts(since=NOW + HOUR, limit=5)] == ["waits", "held"]
        assert reader.texts(since=NOW + 4 * HOUR) == ()


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
        assert [text.text for text in tx.texts()] == ["(forgotten)"]
        assert [(event.kind, event.text) for event in tx.events()] == [("taken", "(forgotten)")]


def test_what_no_column_has_room_for_is_kept_all_the_same(store):
    """A name, a number or an input of any length, and NUL: a text that cannot be stored would stay on the SIM for ever."""
    long = "w" * 500
    with store.write() as tx:
        kept = tx.keep_event(event(tank=long, controller=long, input=long, sender=long, text="a\0b"))
        tx.keep_text(Text(number=long, text="a\0b", at=NOW, heard_at=NOW), "read", controller=long)
        tx.set_state(PinTried(mark="a\0b"), long)
        assert tx.state(PinTried, long) == PinTried(mark="a\0b")
    with store.read() as reader:
        assert reader.events()[0].input == long and kept.input == long
        assert reader.last_heard(long) == NOW
        assert [text.text.replace("\u2400", "\0") for text in reader.texts()] == ["a\0b"]


def test_a_pause_is_replaced_from_then_on(store):
    """Four hours, then one instead: that is what is known from then on, also once it is over; before, it was four."""
    with store.write() as tx:
        tx.put_pause("house", NOW, NOW + 4 * HOUR, "wren")
        tx.put_pause("house", NOW + HOUR, NOW + 2 * HOUR, "wren")

    def running(at):
        with store.read() as reader:
            return [pause.until for pause in reader.pauses(known_by=at) if pause.since <= at < pause.until]

    assert running(NOW + HOUR / 2) == [NOW + 4 * HOUR] and running(NOW + 1.5 * HOUR) == [NOW + 2 * HOUR]
    assert running(NOW + 3 * HOUR) == []


def test_a_reader_sees_one_snapshot(store):
    """What is committed meanwhile is seen by the next one."""
    with store.read() as reader:
        assert reader.events() == ()
        with store.write() as tx:
            tx.keep_event(event())
        assert reader.events() == ()
    with store.read() as reader:
        assert len(reader.events()) == 1


def test_one_daemon_at_a_time(url):
    """The second is told who has it; a lock ends with its holder."""
    lock = hold(url, "Q")
    with pytest.raises(StoreHeld, match=str(os.getpid())):
        hold(url, "Q")
    assert holder(url, "Q") == os.getpid()
    lock.release()
    assert holder(url, "Q") is None
    hold(url, "Q").release()


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
        kept = [event.text for event in reader.events()]
    store.close()
    assert kept[: len([text for text in said if text.strip().isdigit()])] == [
        text.strip() for text in said if text.strip().isdigit()
    ]


def test_a_text_is_found_by_its_event(store):
    """Without an index each level that is thinned was looked for in every text, by us and by the foreign key."""
    if not store._database.is_file:
        return
    with store._database.reading() as connection:
        asked = "EXPLAIN QUERY PLAN UPDATE texts SET event = 5 WHERE site = 'Q' AND event = 4"
        plan = " ".join(row[3] for row in sqlite_door.raw_of(connection).execute(asked))
    assert "texts_event" in plan
