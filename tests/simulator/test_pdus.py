"""The simulator's own PDU builder against other libraries, and against the gateway's decoder and encoder."""

from datetime import UTC, datetime, timedelta

import gsm0338
import pytest
from gsmmodem.pdu import decodeSmsPdu
from hypothesis import given
from hypothesis import strategies as st

from gateway.facts import Delivered, Report
from gateway.modem.pdu import decode, encode_submit
from gateway.simulator.pdus import ZERO_STAMP, deliver_pdus, handed_over, report_pdu, stamp_octets, tpdu_octets
from gateway.simulator.septets import _CODE, _EXTENDED, read_out, spelled, spread, squeezed

RIDGE, WREN = "+61491570006", "+61491570156"
STAMP = datetime(2026, 11, 25, 3, 4, 5, tzinfo=UTC)
LETTERS = "".join([*_CODE, *_EXTENDED])
gsm_text = st.text(alphabet=LETTERS, min_size=1, max_size=500)
any_text = st.text(alphabet=st.characters(exclude_categories=["Cs"]), min_size=1, max_size=300)
stamps = st.integers(int(STAMP.timestamp()) - 10**9, int(STAMP.timestamp()) + 10**9).map(
    lambda at: datetime.fromtimestamp(at, UTC)
)


@pytest.mark.parametrize("char", LETTERS)
def test_alphabet_is_that_of_another_library(char):
    """Each character has the septets that gsm0338 gives it."""
    assert bytes(spelled(char) or []) == char.encode("gsm03.38")


def test_alphabet_is_whole():
    """127 characters and ten of the extension table (3GPP TS 23.038 6.2.1)."""
    assert (len(_CODE), len(_EXTENDED)) == (127, 10)
    assert gsm0338.Codec is not None


@given(gsm_text, st.integers(0, 6))
def test_septets_round_trip(text, fill_bits):
    """Squeezed and spread again they are the text."""
    septets = spelled(text) or []
    assert read_out(spread(squeezed(septets, fill_bits), len(septets), fill_bits)) == text


@pytest.mark.parametrize(
    ("quarters", "octet"),
    [(-24, 0x4A), (-28, 0x8A), (-16, 0x69), (8, 0x80), (12, 0x21), (0, 0x00), (-20, 0x0A), (4, 0x40)],
)
def test_zone_octets(quarters, octet):
    """Published check values 7.14 and 7.15 (a quarter of an hour each; the swapped top bit is the sign)."""
    assert stamp_octets(STAMP, quarters)[-1] == octet


@given(any_text, stamps, st.integers(-48, 56), st.integers(0, 65535), st.booleans())
def test_gateway_reads_what_the_network_brings(text, stamp, quarters, reference, wide):
    """Sender, text, time and parts come out of the gateway's decoder as they went in."""
    pdus = deliver_pdus(RIDGE, text, stamp, zone_quarters=quarters, reference=reference, wide_reference=wide)
    read = [decode(pdu) for pdu in pdus]
    assert all(isinstance(pdu, Delivered) and (pdu.sender, pdu.stamp) == (RIDGE, stamp) for pdu in read)
    assert "".join(pdu.text for pdu in read) == text
    if len(read) > 1:
        said = [(pdu.part.reference, pdu.part.number, pdu.part.total) for pdu in read]
        kept = reference if wide else reference % 256
        assert said == [(kept, place, len(read)) for place in range(1, len(read) + 1)]


@given(any_text, st.integers(0, 255), st.booleans())
def test_network_reads_what_the_gateway_sends(text, reference, want_report):
    """Number, text, parts and the wish for a report come out of the simulator's decoder as they went in."""
    pdus = encode_submit(WREN, text, reference, want_report)
    read = [handed_over(pdu.pdu) for pdu in pdus]
    assert "".join(pdu.text for pdu in read) == text
    assert {(pdu.number, pdu.wants_report) for pdu in read} == {(WREN, want_report)}
    assert [tpdu_octets(pdu.pdu) for pdu in pdus] == [pdu.length for pdu in pdus]
    if len(read) > 1:
        assert [pdu.part for pdu in read] == [(reference, len(read), place) for place in range(1, len(read) + 1)]


@pytest.mark.parametrize(("zeros", "discharged"), [(None, STAMP), (ZERO_STAMP, None)])
def test_report_is_read_by_both(zeros, discharged):
    """The gateway's decoder and another library agree on the report."""
    pdu = report_pdu(WREN, 77, 0x46, STAMP, zeros)
    read = Report(reference=77, number=WREN, outcome="failed", status=0x46, discharged=discharged, stamp=STAMP)
    assert decode(pdu) == read
    if zeros is None:
        other = decodeSmsPdu(pdu)
        assert (other["reference"], other["number"], other["status"]) == (77, WREN, 0x46)
        assert other["discharge"] - STAMP == timedelta(0)


@pytest.mark.parametrize("sender", ["Ridge", "1234567", "WATER-BOX", "131 500"])
def test_odd_senders(sender):
    """Names and short codes arrive as such."""
    assert decode(deliver_pdus(sender, "low", STAMP)[0]).sender == sender.replace(
        " ", "" if sender[0].isdigit() else " "
    )


@pytest.mark.parametrize("pdu", ["", "00", "0001", "0004", "zz", "0011000B91", "00110003918888F80000AA05E8329B"])
def test_what_is_no_message_is_refused(pdu):
    """Whatever is cut short or of another kind raises ValueError, nothing else."""
    with pytest.raises(ValueError):
        handed_over(pdu)
