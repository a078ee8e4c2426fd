"""Which memory the modem's commands go to: never taken for granted."""

import pytest

from gateway.errors import ModemSilent
from gateway.modem.memories import Memories
from gateway.modem.sim import PatientCommands
from tests.modem.test_dialogue import OK, talk

ERROR, HOLDS = (0.01, "ERROR"), [(0.01, "+CPMS: 0,10,0,10,0,10"), OK]


def memories_of(*answers):
    """Memories on a modem that answers so, and what was written to it."""
    dialogue, wire, _ = talk(*answers)
    return Memories(PatientCommands(dialogue, within_s=1.0, pause=lambda seconds: None)), wire


def test_where_one_cannot_be_told_to_take_new_texts_the_last_one_chosen_is_chosen():
    """The first is asked for by name before anything is listed: else the last one's texts would be taken for its own."""
    memories, wire = memories_of([(0.01, '+CPMS: ("SM","ME")'), OK], HOLDS, HOLDS, [ERROR], HOLDS)
    memories.choose()
    wire.written.clear()
    assert memories.select("ME") and not wire.written
    assert memories.select("SM") and wire.written == [b'AT+CPMS="SM"\r']


def test_an_answer_that_came_too_late_leaves_it_open():
    """Whatever is wanted next is asked for by name."""
    memories, wire = memories_of(HOLDS, [(50.0, "OK")], HOLDS)
    assert memories.select("SM")
    with pytest.raises(ModemSilent):
        memories.select("ME")
    wire.now += 60.0
    wire.read(60.0)
    wire.written.clear()
    assert memories.select("SM") and wire.written == [b'AT+CPMS="SM"\r']
