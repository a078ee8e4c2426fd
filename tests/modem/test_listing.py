"""What a listing is held against before it is believed."""

from pathlib import Path

import pytest

from gateway.facts import Delivered
from gateway.modem.parse_listing import ResetSeen, arrival_in, listed_in
from gateway.ports import Listed, ModemReady
from gateway.simulator import Faults, Habits
from gateway.simulator.pdus import deliver_pdus, tpdu_octets
from tests.fakes.benches import LineBench
from tests.fakes.fake_modem import NETWORK_TIME
from tests.fakes.test_port_suite import open_real

RIDGE = "+61491570006"
PDU = deliver_pdus(RIDGE, "LINE 1 MADE", NETWORK_TIME)[0]
HURT = PDU[:-2]


def lines(pdu: str, length: int) -> list[str]:
    return [f"+CMGL: 3,0,,{length}", pdu]


def test_length_fits():
    """A PDU as long as the modem says is held."""
    listing = listed_in("SM", lines(PDU, tpdu_octets(PDU)), doubted=())
    assert ([held.pdu for held in listing.held], listing.doubted) == ([PDU], set())


def test_hurt_is_doubted():
    """One octet short of what the modem says: neither held nor lost, but doubted."""
    listing = listed_in("SM", lines(HURT, tpdu_octets(PDU)), doubted=())
    assert (listing.held, listing.doubted) == ((), {HURT})


def test_said_again_is_believed():
    """A modem that counts in its own way says the same twice."""
    listing = listed_in("SM", lines(PDU, 7), doubted={PDU})
    assert ([held.pdu for held in listing.held], listing.doubted) == ([PDU], set())


def test_doubt_is_not_complete(tmp_path: Path):
    """While a text in a slot is doubted the first listing is not complete, so no verdict is built on it; it is looked at again soon."""
    bench = LineBench(str(tmp_path / "modem"), Habits(), Faults(hurt_pdus=1), open_real)
    bench.deliver(RIDGE, "LINE 1 MADE")
    try:
        bench.start()
        bench.until(ModemReady)
        first = bench.until(Listed)
        assert (first.held, first.complete) == ((), False)
        second = bench.until(Listed)
        assert second.complete and isinstance(second.held[0].content, Delivered)
    finally:
        bench.close()


ALPHAS = ("", '""', '"Ridge"', '"Ridge, box 2"', '"+61491570006"', '"1,2"', '"REC UNREAD"', "006900640067", None)
"""27.005 3.4.2, <alpha>: a name from the SIM's phone book, in quotes or not, empty or left out with its comma."""
GAPS = ("", " ")


def header(command: str, first: str, alpha: str | None, length: int, gap: str) -> str:
    fields = [first, *([] if alpha is None else [alpha]), str(length)]
    return f"{command}:{gap}{f',{gap}'.join(fields)}"


@pytest.mark.parametrize("alpha", ALPHAS)
@pytest.mark.parametrize("gap", GAPS)
@pytest.mark.parametrize("stat", range(5))
def test_every_form_of_a_listing(alpha, gap, stat):
    """A status in figures is PDU mode, whatever name follows; what came is held, drafts and sent messages are left alone."""
    line = header("+CMGL", f"3,{gap}{stat}", alpha, tpdu_octets(PDU), gap)
    listing = listed_in("SM", [line, PDU], doubted=())
    assert [(held.slot, held.pdu) for held in listing.held] == ([(3, PDU)] if stat in (0, 1) else [])
    assert (listing.own, listing.doubted) == (int(stat not in (0, 1)), set())


@pytest.mark.parametrize("alpha", ALPHAS)
@pytest.mark.parametrize("gap", GAPS)
def test_the_length_is_read_behind_every_name(alpha, gap):
    """One octet short is doubted, whatever stands before the length."""
    line = header("+CMGL", f"3,{gap}0", alpha, tpdu_octets(PDU), gap)
    assert listed_in("SM", [line, HURT], doubted=()).doubted == {HURT}


@pytest.mark.parametrize("stat", ["REC UNREAD", "REC READ", "STO UNSENT", "STO SENT"])
@pytest.mark.parametrize("rest", [',"+61491570006",,"26/11/25,14:00:00+40"', ',"+61491570006","Ridge",', ',"",,'])
@pytest.mark.parametrize("gap", GAPS)
def test_a_status_in_words_is_text_mode(stat, rest, gap):
    """The modem was reset."""
    with pytest.raises(ResetSeen):
        listed_in("SM", [f'+CMGL:{gap}3,{gap}"{stat}"{rest}', "LINE 1 MADE"], doubted=())


@pytest.mark.parametrize("line", ["+CMGL: 3,", "+CMGL: ,0,,29", "+CMGL: 3,,,29", "+CMGL"])
def test_a_header_of_no_form_is_doubted(line):
    """Its PDU is listed again soon; said twice alike it is held, where its slot is known."""
    listing = listed_in("SM", [line, PDU], doubted=())
    assert (listing.held, listing.doubted) == ((), {PDU})
    again = listed_in("SM", [line, PDU], doubted={PDU})
    assert [held.slot for held in again.held] == ([3] if "3" in line else [])


@pytest.mark.parametrize("alpha", ALPHAS)
@pytest.mark.parametrize("gap", GAPS)
@pytest.mark.parametrize("stat", range(5))
def test_every_form_of_one_slot(alpha, gap, stat):
    """Read again before it is freed: its PDU where it is something that came."""
    line = header("+CMGR", str(stat), alpha, tpdu_octets(PDU), gap)
    assert arrival_in([line, PDU]) == (PDU if stat in (0, 1) else None)


def test_one_slot_in_text_mode():
    """The modem was reset since it was listed."""
    with pytest.raises(ResetSeen):
        arrival_in(['+CMGR: "REC READ","+61491570006",,"26/11/25,14:00:00+40"', "LINE 1 MADE"])


@pytest.mark.parametrize("stat", ["1", '"1"'])
@pytest.mark.parametrize("length", ["{}", '"{}"', "{};"])
@pytest.mark.parametrize("shown", ["{}", '"{}"'])
def test_quotes_around_anything(stat, length, shown):
    """Around a status, a length, a PDU; a semicolon at the end."""
    line = f"+CMGL: 3,{stat},,{length.format(tpdu_octets(PDU))}"
    assert [held.pdu for held in listed_in("SM", [line, shown.format(PDU)], doubted=()).held] == [PDU]
    assert arrival_in([f"+CMGR: {stat},,{length.format(tpdu_octets(PDU))}", shown.format(PDU)]) == PDU


@pytest.mark.parametrize("left", [PDU[:-1], "07", "", None])
def test_a_header_whose_pdu_is_hurt_is_doubted(left):
    """Half an octet was lost, or all: the memory is not listed whole by that, and looked into again; not for ever."""
    line = f"+CMGL: 3,1,,{tpdu_octets(PDU)}"
    lines = [line, *([] if left is None else [left])]
    listing = listed_in("SM", lines, doubted=())
    assert listing.held == () and listing.doubted
    assert line not in listed_in("SM", lines, doubted={line, "07"}).doubted
