"""Which memory the modem's commands go to: never taken for granted."""

import pytest

from gateway.errors import ModemSilent
from gateway.facts import HeldPdu, Undecodable
from gateway.modem.memories import Memories, capacity_in, memory_in, used_in
from gateway.modem.sim import PatientCommands
from gateway.ports import MemoryRoom
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


OFFERED = {names: [(0.01, f"+CPMS: ({names})"), OK] for names in ('"SM","ME"', '"SM","ME","MT"', '"SM"')}


@pytest.mark.parametrize(
    ("answers", "names", "missing", "later"),
    [
        ([OFFERED['"SM","ME"'], HOLDS, HOLDS, HOLDS], ("SM", "ME"), (), ("SM", "ME")),
        ([OFFERED['"SM"'], HOLDS, HOLDS], ("SM",), (), ("SM",)),
        ([OFFERED['"SM","ME"'], HOLDS, [ERROR], HOLDS, HOLDS], ("SM",), ("ME",), ("SM", "ME")),
        ([OFFERED['"SM","ME"'], HOLDS, [ERROR], HOLDS, [ERROR]], ("SM",), ("ME",), ("SM",)),
        ([OFFERED['"SM","ME","MT"'], HOLDS, HOLDS, HOLDS], ("SM", "ME"), (), ("SM", "ME")),
        ([OFFERED['"SM","ME","MT"'], HOLDS, [ERROR], HOLDS, HOLDS], ("MT",), (), ("MT",)),
        ([OFFERED['"SM","ME","MT"'], HOLDS, [ERROR], [ERROR], HOLDS, HOLDS], ("SM",), ("ME",), ("SM", "ME")),
        # the first list names what can be read; where none stands in brackets, all do
        ([[(0.01, '+CPMS: ("SM","ME"),("MT"),("MT")'), OK], HOLDS, [ERROR], HOLDS, [ERROR]], ("SM",), ("ME",), ("SM",)),
        ([[(0.01, '+CPMS: "SM","ME","MT"'), OK], HOLDS, [ERROR], HOLDS, HOLDS], ("MT",), (), ("MT",)),
        ([[ERROR], HOLDS, HOLDS, HOLDS], ("SM", "ME"), (), ("SM", "ME")),
        ([[ERROR], [ERROR], HOLDS, HOLDS], ("ME",), (), ("ME",)),
    ],
)
def test_which_memories_are_read(answers, names, missing, later):
    """Each that can be chosen; both as one where one of them cannot; what was offered and refused is read once it is there."""
    memories, wire = memories_of(*answers)
    memories.choose()
    assert (memories.names, memories.missing) == (names, missing)
    memories.choose_missing()
    assert memories.names == later and memories.missing == tuple(name for name in missing if name not in later)
    assert wire.written.count(b"AT+CPMS=?\r") == 1


def holding(used, total):
    """The answer of a memory that holds so many."""
    return [(0.01, f"+CPMS: {used},{total},{used},{total},{used},{total}"), OK]


def held(memory, count):
    return [HeldPdu(memory=memory, slot=slot, pdu="00", content=Undecodable(reason="x")) for slot in range(count)]


def both(sim=10, modem=50):
    """SM and ME, with so many slots."""
    memories, wire = memories_of(
        OFFERED['"SM","ME"'], holding(1, sim), holding(2, modem), HOLDS, holding(7, sim), [ERROR]
    )
    memories.choose()
    return memories, wire


def test_how_many_texts_a_memory_holds():
    """Asked anew each time; not known where it refuses."""
    memories, _ = both()
    assert memories.used == {"SM": 1, "ME": 2}
    assert memories.count_used("SM") == 7 and memories.used["SM"] == 7
    assert memories.count_used("ME") is None


@pytest.mark.parametrize(
    ("announced", "reports", "looked_into"),
    [
        ((), False, ("SM", "ME")),
        (("ME",), False, ("ME",)),
        (("ME", "SM"), False, ("SM", "ME")),
        (("BM",), False, ("SM", "ME")),
        (("ME", "BM"), False, ("SM", "ME")),
        (("SR",), False, ("SM", "ME")),
        (("SR",), True, ("SR",)),
        ((), True, ("SM", "ME", "SR")),
    ],
)
def test_which_are_looked_into(announced, reports, looked_into):
    """Those announced; all where none was, or one that is not known."""
    memories, _ = both()
    memories.reports_are_stored = reports
    assert memories.to_look_into(announced) == looked_into


@pytest.mark.parametrize(
    ("sim", "modem", "own", "full", "may_wait"),
    [
        (10, 50, {}, ["SM"], 5),
        (11, 50, {}, [], 5),
        (11, 50, {"SM": 1}, ["SM"], 5),
        (10, 10, {"ME": 9}, ["SM"], 0),
        (100, 200, {}, [], 20),
        (0, 50, {}, [], 20),
        (0, 30, {}, [], 15),
        (0, 30, {"ME": 40}, [], 0),
    ],
)
def test_when_a_memory_is_full(sim, modem, own, full, may_wait):
    """Ten texts in SM; drafts take slots, too. At most half of the smallest stays taken while messages leave, and twenty."""
    memories, _ = both(sim, modem)
    memories.taken_by_own = own
    assert sorted(memories.full(held("SM", 10))) == full
    assert memories.slots_that_may_wait == may_wait


def test_what_takes_slots_for_good():
    """Drafts, what could not be freed, and what could not be listed."""
    memories, _ = both(0, 50)
    memories.taken_by_own = {"ME": 3}
    assert memories.rooms(held("ME", 2), ["SM"]) == (
        MemoryRoom(name="SM", total=None, own=0, stuck=0, is_read=False),
        MemoryRoom(name="ME", total=50, own=3, stuck=2, is_read=True),
    )


@pytest.mark.parametrize(
    ("lines", "used", "total"),
    [
        (["+CPMS: 3,20,3,20"], 3, 20),
        (["+CPMS: 3"], None, 10),
        (["+CPMS:"], None, 10),
        ([], None, 10),
        (["+CPMS: 0,0"], 0, 0),
    ],
)
def test_what_a_memory_says_of_itself(lines, used, total):
    """How many stand in it, and how many it holds; where it does not say, as many as the smallest SIM."""
    assert (used_in(lines), capacity_in(lines)) == (used, total)


@pytest.mark.parametrize(("line", "memory"), [('+CMTI: "SM",3', "SM"), ("+CMTI: 3", ""), ('+CDSI: "SR",1', "SR")])
def test_which_memory_a_line_names(line, memory):
    """None where none stands in it."""
    assert memory_in(line) == memory


def test_a_store_that_is_not_ready_is_waited_for():
    """Every memory was refused: the first that is offered is asked for until it is there, and then chosen as any other."""
    memories, wire = memories_of(OFFERED['"SM","ME"'], [ERROR], [ERROR], [ERROR], HOLDS, HOLDS, HOLDS, HOLDS)
    memories.choose()
    assert memories.names == ("SM", "ME")
    assert wire.written[1:] == [
        b'AT+CPMS="SM"\r',
        b'AT+CPMS="ME"\r',
        *[b'AT+CPMS="SM"\r'] * 3,
        b'AT+CPMS="ME"\r',
        b'AT+CPMS="SM","SM","SM"\r',
    ]
