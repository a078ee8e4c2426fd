"""What the modem said is stored in its order, some at a time."""

from datetime import timedelta

import pytest

from gateway.errors import StoreFull
from gateway.facts import HeldPdu, Undecodable
from gateway.ports import Listed, SlotFreed
from gateway.service.inbound import TEXTS_A_COMMIT, InboundQueue
from tests.faults.board import board

OCTETS = ("FFFFFFFFFFF1", "FFFFFFFFFFF2", "FFFFFFFFFFF3")


def held(slot):
    """A PDU in that slot."""
    return HeldPdu(memory="SM", slot=slot, pdu=f"{slot:02X}", content=Undecodable(reason="invented"))


def listed(*slots, complete=False):
    """A sweep that found these."""
    return Listed(held=tuple(map(held, slots)), complete=complete)


def freed(slot):
    """That slot is free."""
    return SlotFreed(held=held(slot), done=True)


def test_a_slot_is_free_after_what_was_listed_before_and_before_what_was_listed_since():
    """An unstamped text is known by its slot: the order decides whether it is old or new."""
    inbound = InboundQueue()
    for news in (listed(1, 2), freed(1), freed(2), listed(1)):
        inbound.add(news)
    order = []
    while inbound:
        order += [("freed", freed.held.slot) for freed in inbound.next_freed()]
        some = inbound.next_texts()
        if some is not None:
            order += [("stored", held_pdu.slot) for held_pdu in some.held]
            inbound.stored(some, len(some.held))
    assert order == [("stored", 1), ("stored", 2), ("freed", 1), ("freed", 2), ("stored", 1)]


def test_what_could_not_be_noted_as_free_comes_first():
    """Each slot once, however often it was freed meanwhile; a slot that was not freed is not kept."""
    inbound = InboundQueue()
    for news in (freed(1), freed(2), SlotFreed(held=held(3), done=False)):
        inbound.add(news)
    inbound.not_noted(inbound.next_freed())
    assert not inbound
    for news in (freed(1), listed(2)):
        inbound.add(news)
    inbound.not_noted(inbound.next_freed())
    assert [freed.held.slot for freed in inbound.next_freed()] == [1, 2] and not inbound.next_freed()
    assert [held_pdu.slot for held_pdu in inbound.next_texts().held] == [2]


@pytest.mark.parametrize("listed_while_full", [True, False])
def test_a_full_disk_while_slots_are_noted_costs_no_text(tmp_path, listed_while_full):
    """What nobody can decode is known by its slot alone: the same octets in the same slots are told again, whatever heals the store."""
    with board(tmp_path) as home:
        home.modem.hold_news = True
        home.modem.deliver_pdus(OCTETS)
        home.modem.release(1)
        home.settle()
        assert not home.modem.slots
        home.store.broken = StoreFull("no room")
        home.modem.release()
        home.settle()
        home.modem.deliver_pdus(OCTETS)
        if listed_while_full:
            home.modem.release()
            home.settle()
        home.store.broken, home.modem.hold_news = None, False
        home.modem.release()
        home.settle()
        home.pass_time(timedelta(seconds=30))
        assert [text.text for text in home.texts("in")] == [*OCTETS, *OCTETS] and not home.modem.slots


@pytest.mark.parametrize("slots_too", [False, True])
def test_a_full_disk_costs_nothing_that_the_modem_does_not_hold(tmp_path, caplog, slots_too):
    """A text that it showed and did not keep waits for room here; with and without slots to be noted before it. It is said once."""
    caplog.set_level("INFO", "gateway")
    with board(tmp_path) as home:
        home.modem.hold_news = True
        home.modem.deliver_pdus(OCTETS if slots_too else ())
        home.modem.release(1)
        home.settle()
        home.store.broken = StoreFull("no room")
        home.modem.release()
        shown = HeldPdu(memory="--", slot=None, pdu="FFFFFFFFFFF9", content=Undecodable(reason="invented"))
        home.daemon._queue.put(Listed(held=(shown,)))
        home.settle()
        home.pass_time(timedelta(minutes=5))
        assert caplog.text.count("Nothing can be kept: no room") == 1
        home.store.broken, home.modem.hold_news = None, False
        home.pass_time(timedelta(seconds=30))
        assert [text.text for text in home.texts("in")] == [*(OCTETS if slots_too else ()), "FFFFFFFFFFF9"]


def test_swept_means_that_all_of_a_complete_sweep_is_stored():
    """Not when it was listed, not when only some of it is on the disk, and not by a sweep that could not read all."""
    inbound = InboundQueue()
    inbound.add(listed(*range(TEXTS_A_COMMIT + 5), complete=True))
    first = inbound.next_texts()
    assert len(first.held) == TEXTS_A_COMMIT
    inbound.stored(first, 3)
    assert inbound and not inbound.swept
    while (some := inbound.next_texts()) is not None:
        assert not inbound.swept
        inbound.stored(some, len(some.held))
    assert inbound.swept and not inbound
    partly = InboundQueue()
    partly.add(listed(1))
    partly.stored(partly.next_texts(), 1)
    assert not partly.swept


def test_what_was_not_stored_comes_next():
    """In its old order."""
    inbound = InboundQueue()
    inbound.add(listed(1, 2, 3))
    inbound.stored(inbound.next_texts(), 1)
    assert [held_pdu.slot for held_pdu in inbound.next_texts().held] == [2, 3]


def test_a_sweep_of_which_something_could_not_be_stored_does_not_count():
    """It stays with the modem; the next complete sweep counts."""
    inbound = InboundQueue()
    inbound.add(listed(1, complete=True))
    inbound.next_texts()
    assert not inbound and not inbound.swept
    inbound.add(listed(1, complete=True))
    inbound.stored(inbound.next_texts(), 1)
    assert inbound.swept


def test_an_empty_complete_sweep_counts_at_once():
    """Nothing was there."""
    inbound = InboundQueue()
    inbound.add(listed(complete=True))
    assert inbound.swept and not inbound


def test_what_waits_already_waits_once():
    """Listed again before it was stored; but again after its slot was freed it is another text."""
    inbound = InboundQueue()
    for news in (listed(1, 2), listed(1, 2, 3), freed(1), listed(1)):
        inbound.add(news)
    assert [held_pdu.slot for held_pdu in inbound.next_texts().held] == [1, 2, 3]
    assert [freed.held.slot for freed in inbound.next_freed()] == [1]
    assert [held_pdu.slot for held_pdu in inbound.next_texts().held] == [1] and not inbound
