"""What the modem says while the daemon stops is on record when it has."""

import pytest

from gateway.errors import StoreFull
from gateway.facts import HeldPdu, Undecodable
from gateway.ports import Listed
from tests.faults.board import REPEAT, board
from tests.household import RIDGE, WREN

OCTETS = ("FFFFFFFFFFF1", "FFFFFFFFFFF2")


@pytest.fixture
def home(tmp_path):
    """A board of which the modem speaks when it is told to."""
    with board(tmp_path) as started:
        started.modem.hold_news = True
        yield started


def stop(home):
    """As SIGTERM: the modem's last news comes while it stops, when there is room again."""
    home.daemon.tell("stop")
    home.settle()
    home.store.broken = None
    home.modem.release()
    home.daemon.end()


def start(home):
    """Again, and all that follows."""
    home.cut()
    home.modem.hold_news = False
    home.start()


@pytest.mark.parametrize("full_before", [False, True])
def test_a_slot_that_was_freed_last_takes_new_texts(home, full_before):
    """The same octets in the same slots after the next start are told again; also where the store was full a moment before the stop."""
    home.modem.deliver_pdus(OCTETS)
    home.modem.release(1)
    home.settle()
    assert not home.modem.slots
    if full_before:
        home.store.broken = StoreFull("no room")
        home.modem.release()
        home.settle()
    stop(home)
    home.modem.deliver_pdus(OCTETS)
    start(home)
    assert [text.text for text in home.texts("in")] == [*OCTETS, *OCTETS]


def test_an_answer_that_waited_for_room_is_kept_at_the_stop(home):
    """The disk was full when the message left, and is not any more: it is not sent again."""
    home.modem.deliver(RIDGE, "LINE 1 MADE 0717")
    home.modem.release(1)
    home.settle()
    home.store.broken = StoreFull("no room")
    home.modem.release()
    home.settle()
    stop(home)
    start(home)
    assert len([text for text in home.arrived(WREN) if "LOW" in text]) == 1
    assert not [text for text in home.arrived() if text.startswith(REPEAT)]


@pytest.mark.parametrize("full_before", [False, True])
def test_what_the_modem_showed_and_did_not_keep_is_stored_at_the_stop(home, full_before):
    """It came while the gateway stopped, or had waited for room: nobody else has it."""
    shown = HeldPdu(memory="--", slot=None, pdu=OCTETS[0], content=Undecodable(reason="invented"))
    home.store.broken = StoreFull("no room") if full_before else None
    home.daemon.tell("stop")
    home.settle()
    home.daemon._queue.put(Listed(held=(shown,)))
    if full_before:
        home.settle()
        home.store.broken = None
    home.daemon.end()
    assert [text.text for text in home.texts("in")] == [OCTETS[0]]


def test_a_store_that_fails_at_the_stop_is_on_record_and_it_ends(home, caplog):
    """With an answer that came while it stopped."""
    caplog.set_level("DEBUG", "gateway")
    home.modem.deliver(RIDGE, "LINE 1 MADE 0717")
    home.modem.release(1)
    home.settle()
    home.daemon.tell("stop")
    home.settle()
    home.store.broken = StoreFull("no room")
    home.modem.release()
    home.daemon.end()
    assert "action=store-trouble" in caplog.text and "action=stopped" in caplog.text
