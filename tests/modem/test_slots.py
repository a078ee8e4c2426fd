"""Slots as they are listed and freed, whatever the modem answers."""

import pytest

from gateway.facts import HeldPdu
from gateway.modem import Times
from gateway.modem.list_and_free import TOLD_AGAIN_AFTER_S, RecentlyTold, Slots
from gateway.modem.memories import Memories
from gateway.modem.parse_listing import ResetSeen
from gateway.modem.pdu import decode
from gateway.modem.pdu_mode import PduMode
from gateway.modem.sim import PatientCommands
from gateway.simulator.pdus import deliver_pdus, tpdu_octets
from tests.fakes.fake_modem import NETWORK_TIME
from tests.modem.test_dialogue import OK, talk

PDU, OTHER = (deliver_pdus("+61491570006", text, NETWORK_TIME)[0] for text in ("LINE 1 MADE", "LINE 2 MADE"))
HOLDS = [(0.01, "+CPMS: 1,10,1,10,1,10"), OK]
HOLDS_NOTHING = [(0.01, "+CPMS: 0,10,1,10,1,10"), OK]
BOTH = [(0.01, '+CPMS: ("SM","ME"),("SM","ME"),("SM","ME")'), OK]
EMPTY = [OK]


def held(slot=3, pdu=PDU, memory="SM"):
    return HeldPdu(memory=memory, slot=slot, pdu=pdu, content=decode(pdu))


def listing(pdu=PDU):
    return [(0.01, f"+CMGL: 3,0,,{tpdu_octets(pdu)}"), (0.01, pdu), OK]


def one_slot(pdu=PDU):
    return [(0.01, f"+CMGR: 1,,{tpdu_octets(pdu)}"), (0.01, pdu), OK]


def refused(error):
    return [(0.01, error)]


def parts_of(*answers):
    """Slots on a scripted wire, both memories found, the first of them chosen; the wire, the memories, the mode."""
    dialogue, wire, _ = talk(BOTH, HOLDS, HOLDS, HOLDS, *answers)
    memories = Memories(PatientCommands(dialogue, within_s=1.0, pause=lambda seconds: None))
    memories.choose()
    wire.written.clear()
    pdu_mode = PduMode(dialogue, within_s=1.0, monotonic=lambda: wire.now)
    return Slots(dialogue, memories, pdu_mode, Times()), wire, memories, pdu_mode


def slots_of(*answers):
    """The same without the mode."""
    return parts_of(*answers)[:3]


@pytest.mark.parametrize("error", ["+CMS ERROR: 321", "+CMS ERROR: 500", "ERROR"])
def test_a_memory_that_is_refused_because_it_holds_nothing_is_empty(error):
    """The listing is complete."""
    slots, _, _ = slots_of(refused(error), HOLDS_NOTHING, HOLDS, listing())
    listed = slots.list_all()
    assert ([entry.memory for entry in listed.held], listed.complete) == (["ME"], True)


@pytest.mark.parametrize("error", ["+CMS ERROR: 321", "+CMS ERROR: 500", "ERROR"])
def test_row_83_a_memory_that_is_refused_and_holds_something_is_not_swept(error):
    """By its own count texts stand in it: the listing is not complete, and no verdict of silence is built on it."""
    slots, _, _ = slots_of(refused(error), HOLDS, HOLDS, listing())
    listed = slots.list_all()
    assert ([entry.memory for entry in listed.held], listed.complete) == (["ME"], False)


@pytest.mark.parametrize("error", ["+CMS ERROR: 302", "+CMS ERROR: 320", "+CME ERROR: 100"])
def test_a_memory_that_cannot_be_listed_leaves_it_open(error):
    """What stands in the other one is told all the same."""
    slots, _, _ = slots_of(refused(error), HOLDS, listing())
    listed = slots.list_all()
    assert ([entry.memory for entry in listed.held], listed.complete) == (["ME"], False)


@pytest.mark.parametrize(("error", "complete"), [(None, True), ("+CMS ERROR: 302", False)])
def test_a_memory_that_cannot_be_chosen_leaves_it_open(error, complete):
    """Nothing is listed under its name."""
    slots, wire, _ = slots_of(listing(), HOLDS if error is None else refused(error), EMPTY)
    listed = slots.list_all()
    assert ([entry.memory for entry in listed.held], listed.complete) == (["SM"], complete)
    assert wire.written.count(b"AT+CMGL=4\r") == (2 if complete else 1)


def test_a_report_store_that_cannot_be_chosen_does_not_matter():
    """Texts never stand there."""
    slots, _, memories = slots_of(listing(), HOLDS, EMPTY, refused("+CMS ERROR: 302"))
    memories.reports_are_stored = True
    assert slots.list_all().complete


def test_only_what_was_announced_is_looked_into():
    """That is no complete listing."""
    slots, wire, _ = slots_of(listing())
    listed = slots.list_all({"SM"})
    assert (len(listed.held), listed.complete) == (1, False)
    assert wire.written == [b"AT+CMGL=4\r"]


def test_doubts_last_until_everything_is_listed_anew():
    """A partial listing takes no doubt away; a whole one without doubts does."""
    slots, _, _ = slots_of(
        [*listing(PDU[:-2])[:1], (0.01, PDU[:-4]), OK], HOLDS, EMPTY, HOLDS, EMPTY, EMPTY, HOLDS, EMPTY
    )
    assert not slots.list_all().complete and slots.doubts
    slots.list_all({"SM"})
    assert slots.doubts
    assert slots.list_all().complete and not slots.doubts


def test_an_echo_that_is_back_is_a_reset():
    """Whatever was listed."""
    slots, _, _ = slots_of([(0.01, "AT+CMGL=4"), *listing()], HOLDS, EMPTY)
    with pytest.raises(ResetSeen):
        slots.list_all()


def test_a_listing_with_texts_shows_pdu_mode():
    """The mode is not asked for right after; after an empty listing it is."""
    for answer, asks in ((listing(), False), (EMPTY, True)):
        slots, wire, _, pdu_mode = parts_of(answer, HOLDS, EMPTY, [(0.01, "+CMGF: 0"), OK])
        slots.list_all()
        pdu_mode.make_sure()
        assert (wire.written[-1] == b"AT+CMGF?\r") is asks


def test_only_the_same_text_is_deleted():
    """Read again first; letters of either case."""
    slots, wire, _ = slots_of(one_slot(PDU.lower()), EMPTY)
    assert slots.free(held()) == (True, "")
    assert wire.written == [b"AT+CMGR=3\r", b"AT+CMGD=3\r"]


DRAFT = [(0.01, f"+CMGR: 2,,{tpdu_octets(PDU)}"), (0.01, PDU), OK]
DRAFT_LISTED = [(0.01, f"+CMGL: 3,2,,{tpdu_octets(PDU)}"), (0.01, PDU), OK]


@pytest.mark.parametrize(
    ("answer", "in_memory"),
    [
        (one_slot(OTHER), listing(OTHER)),
        (EMPTY, EMPTY),
        (DRAFT, DRAFT_LISTED),
        (refused("+CMS ERROR: 321"), refused("+CMS ERROR: 321")),
        (refused("+CMS ERROR: 500"), EMPTY),
        (refused("ERROR"), listing(OTHER)),
    ],
)
def test_what_stands_there_no_more_is_done(answer, in_memory):
    """Another text, nothing, a draft, a refusal, and the listing agrees: done, and nothing deleted."""
    slots, wire, _ = slots_of(answer, in_memory)
    done, why = slots.free(held())
    assert done and why and wire.written == [b"AT+CMGR=3\r", b"AT+CMGL=4\r"]


CUT = [(0.01, f"+CMGR: 1,,{tpdu_octets(PDU)}"), (0.01, PDU[:9] + PDU[10:]), OK]
HURT_LISTED = [(0.01, f"+CMGL: 3,0,,{tpdu_octets(PDU)}"), (0.01, PDU[:-2]), OK]
WITHOUT_BEGINNING = [(0.01, f"MGL: 3,0,,{tpdu_octets(PDU)}"), (0.01, PDU), OK]


@pytest.mark.parametrize("answer", [CUT, EMPTY, one_slot(OTHER), refused("ERROR"), refused("+CMS ERROR: 500")])
@pytest.mark.parametrize("in_memory", [listing(), HURT_LISTED, WITHOUT_BEGINNING, refused("ERROR")])
def test_what_may_stand_there_still_is_not_done(answer, in_memory):
    """A character was lost on the wire. Once that was taken for freed, and the text was listed again as a new one."""
    slots, wire, _ = slots_of(answer, in_memory)
    done, why = slots.free(held())
    assert not done and why and b"AT+CMGD=3\r" not in wire.written


@pytest.mark.parametrize(("error", "said"), [("+CMS ERROR: 320", "320"), ("ERROR", "ERROR")])
def test_a_refused_deletion_is_not_done(error, said):
    """The text stays, and the modem's word is told."""
    slots, _, _ = slots_of(one_slot(), refused(error))
    assert slots.free(held()) == (False, said)


def test_what_stands_in_no_slot_needs_no_freeing():
    """It came unsolicited (+CDS, +CMT): nothing is said to the modem."""
    slots, wire, _ = slots_of()
    assert slots.free(held(slot=None)) == (True, "") and not wire.written


def test_a_memory_that_cannot_be_chosen_frees_nothing():
    """Its name is told."""
    slots, wire, _ = slots_of(refused("+CMS ERROR: 302"))
    done, said = slots.free(held(memory="ME"))
    assert (done, "ME" in said, len(wire.written)) == (False, True, 1)


def test_what_was_told_is_told_again_after_a_minute():
    """And at once where it was freed, where somebody asks for everything, or where it was gone in between."""
    recently, everything = RecentlyTold(), [held(3), held(4), held(3, memory="ME")]
    assert recently.take_new(everything, 0.0, ("SM", "ME")) == tuple(everything)
    assert recently.take_new(everything, TOLD_AGAIN_AFTER_S - 1, ("SM", "ME")) == ()
    recently.forget(held(3))
    assert recently.take_new(everything, TOLD_AGAIN_AFTER_S - 1, ("SM", "ME")) == (held(3),)
    assert recently.take_new(everything, TOLD_AGAIN_AFTER_S, ("SM", "ME")) == tuple(everything[1:])
    recently.forget_all()
    assert recently.take_new(everything, TOLD_AGAIN_AFTER_S, ("SM", "ME")) == tuple(everything)
    assert recently.take_new([], TOLD_AGAIN_AFTER_S, ("SM",)) == ()
    assert recently.take_new(everything, TOLD_AGAIN_AFTER_S, ("SM", "ME")) == tuple(everything[:2])
