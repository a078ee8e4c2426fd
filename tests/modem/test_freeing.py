"""Slots are freed when no message waits, or when too many are taken; nothing is freed just after a message."""

import pytest

from gateway.facts import HeldPdu, Undecodable
from gateway.modem.freeing import DRAINED_WITHIN_S, NEXT_MESSAGE_WITHIN_S, FreeQueue
from gateway.modem.memories import MOST_SLOTS_THAT_WAIT, Memories
from gateway.modem.sim import PatientCommands
from tests.modem.test_dialogue import OK, talk

HELD = [HeldPdu(memory="SM", slot=slot, pdu="00", content=Undecodable(reason="invented")) for slot in range(4)]


def drain(frees, held, now_s):
    """A sweep found these in a full memory."""
    frees.drain(held, held, ("SM",), now_s)


@pytest.mark.parametrize(
    ("waits", "ended_s", "now_s", "taken"),
    [
        (False, None, 0.0, True),
        (True, None, 0.0, False),
        (False, 0.0, NEXT_MESSAGE_WITHIN_S / 2, False),
        (False, 0.0, NEXT_MESSAGE_WITHIN_S, True),
    ],
)
def test_messages_go_first(waits, ended_s, now_s, taken):
    """While one waits, and for a moment after one, few slots are left taken."""
    frees = FreeQueue()
    frees.add(HELD[:2])
    if ended_s is not None:
        frees.message_ended(ended_s)
    assert (frees.take(now_s, messages_wait=waits, may_wait=2) is HELD[0]) is taken


def test_beyond_so_many_they_go_before_messages():
    """Down to as many as may wait, the oldest first."""
    frees = FreeQueue()
    frees.add(HELD)
    taken = [frees.take(0.0, messages_wait=True, may_wait=2) for _ in HELD]
    assert taken == [HELD[0], HELD[1], None, None]


def test_what_waits_already_is_freed_once():
    """Listed again before its slot was freed: the second time it could hold the same octets anew. After the first it may be wanted again."""
    frees = FreeQueue()
    frees.add(HELD[:2])
    frees.add(HELD[:1])
    taken = [frees.take(0.0, messages_wait=False, may_wait=2) for _ in range(3)]
    assert taken == [HELD[0], HELD[1], None]
    frees.add(HELD[:1])
    assert frees.take(0.0, messages_wait=False, may_wait=2) is HELD[0]


def test_it_comes_round_again_by_itself():
    """Where no message comes after all; never for nothing."""
    frees = FreeQueue()
    frees.message_ended(7.0)
    assert frees.due_s(7.0) == float("inf")
    frees.add(HELD[:1])
    assert frees.due_s(7.0) == 7.0 + NEXT_MESSAGE_WITHIN_S
    drain(frees, HELD[:1], 7.0)
    assert frees.due_s(7.0) == 7.0 + DRAINED_WITHIN_S


def test_what_fills_a_memory_is_freed_before_any_message():
    """Each of them, done or refused; and where they never come, messages wait no longer than ten seconds."""
    frees = FreeQueue()
    drain(frees, HELD[:2], 0.0)
    assert frees.draining(1.0)
    frees.add(HELD[:2])
    for held_pdu in HELD[:2]:
        assert frees.draining(1.0) and frees.take(1.0, messages_wait=True, may_wait=2) is held_pdu
        frees.ended(held_pdu, 1.0)
    assert not frees.draining(1.0)
    drain(frees, HELD[2:], 1.0)
    assert frees.draining(1.0 + DRAINED_WITHIN_S / 2) and not frees.draining(1.0 + DRAINED_WITHIN_S)


def test_listed_again_and_again_it_holds_no_message_for_longer():
    """Texts that cannot be stored are told again with each sweep that a store which fails and works by turns asks for."""
    frees = FreeQueue()
    for now_s in range(int(DRAINED_WITHIN_S)):
        drain(frees, HELD, float(now_s))
        assert frees.draining(now_s)
    drain(frees, HELD, DRAINED_WITHIN_S)
    assert not frees.draining(DRAINED_WITHIN_S)
    frees.ended(HELD[0], DRAINED_WITHIN_S + 1)
    assert frees.draining(DRAINED_WITHIN_S + 2)


def test_what_stands_there_no_more_is_owed_no_more():
    """Its slot holds something else, or somebody freed it: no message waits for that."""
    frees = FreeQueue()
    drain(frees, HELD, 0.0)
    frees.drain([], HELD[:1], ("ME",), 1.0)
    assert frees.draining(1.0)
    frees.drain([], HELD[:1], ("SM", "ME"), 1.0)
    frees.ended(HELD[0], 1.0)
    assert not frees.draining(1.0)


@pytest.mark.parametrize(("said", "full"), [("+CPMS: 4,4", {"SM"}), ("+CPMS: 4,5", set()), ("+CPMS: ", set())])
def test_a_memory_is_full_as_it_says_itself(said, full):
    """As many listed as it holds."""
    dialogue, _, _ = talk([(0.01, said), OK])
    memories = Memories(PatientCommands(dialogue, within_s=1.0, pause=lambda seconds: None))
    assert memories.select("SM") and memories.full(HELD) == full


@pytest.mark.parametrize(
    ("said", "may_wait"),
    [
        ("+CPMS: 3,10,3,10,3,10", 5),
        ("+CPMS: 0,23", 11),
        ("+CPMS: 0,255,0,255,0,255", MOST_SLOTS_THAT_WAIT),
        ("+CPMS: ", 5),
    ],
)
def test_never_more_than_half_of_the_memory(said, may_wait):
    """As the modem says how much it holds (27.005 3.2.2); the smallest SIM's ten where it does not."""
    dialogue, _, _ = talk([(0.01, said), OK])
    memories = Memories(PatientCommands(dialogue, within_s=1.0, pause=lambda seconds: None))
    assert memories.select("SM") and memories.slots_that_may_wait == may_wait
