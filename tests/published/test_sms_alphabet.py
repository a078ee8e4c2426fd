"""The GSM alphabet, segments, PDUs and numbers against standards and other libraries.

Sources: 3GPP TS 23.038 / 23.040 through the packages gsm0338 1.1.0, smsutil 1.1.3, smspdudecoder 2.2.0 and python-gsmmodem-new 0.13.0;
worked PDUs from an SMS PDU format page (M1), a hardware vendor's helpdesk (M7) and a public decoder test (M5).
"""

from datetime import datetime, timedelta, timezone

import gsm0338  # noqa: F401 - registers its codec
import pytest
import smsutil
from gsmmodem.pdu import encodeSmsSubmitPdu
from hypothesis import given
from hypothesis import strategies as st

from gateway.facts import Delivered
from gateway.gsm.alphabet import from_septets, is_gsm, to_septets
from gateway.gsm.segments import measure_text, split_into_segments
from gateway.modem.pdu import decode, encode_submit
from gateway.phone_numbers import to_e164

read_incoming_sms = pytest.importorskip(
    "smspdudecoder.easy", reason="its library has no wheel for a 32-bit board"
).read_incoming_sms

EXTENSION = {
    0x0A: "\f",
    0x14: "^",
    0x28: "{",
    0x29: "}",
    0x2F: "\\",
    0x3C: "[",
    0x3D: "~",
    0x3E: "]",
    0x40: "|",
    0x65: "€",
}
"""Codes behind the escape 0x1B (7-bit alphabet table, M2)."""


def basic_alphabet() -> str:
    """Every character of the basic table, from the reference codec."""
    return "".join(bytes([code]).decode("gsm03.38") for code in range(128) if code != 0x1B)


@pytest.mark.parametrize("code", [code for code in range(128) if code != 0x1B])
def test_every_basic_character_both_ways(code):
    """gsm0338 and smsutil agree with us on each of the 127 characters (7.1)."""
    char = bytes([code]).decode("gsm03.38")
    assert from_septets(bytes([code])) == char
    assert to_septets(char) == bytes([code])
    assert smsutil.encode(char) == bytes([code])


@pytest.mark.parametrize(("code", "char"), sorted(EXTENSION.items()))
def test_every_extension_character_both_ways(code, char):
    """Two septets each, by the published codes (7.2, 7.3)."""
    assert to_septets(char) == bytes([0x1B, code]) == char.encode("gsm03.38")
    assert from_septets(bytes([0x1B, code])) == char
    assert measure_text(char).units == 2


SEGMENTS = [
    ("a" * 160, "gsm7", 160, 1),
    ("a" * 161, "gsm7", 161, 2),
    ("a" * 306, "gsm7", 306, 2),
    ("a" * 307, "gsm7", 307, 3),
    ("a" * 459, "gsm7", 459, 3),
    ("a" * 460, "gsm7", 460, 4),
    ("€" * 80, "gsm7", 160, 1),
    ("€" * 81, "gsm7", 162, 2),
    ("a" * 152 + "€" + "a" * 153, "gsm7", 307, 3),
    ("ж" * 70, "ucs2", 70, 1),
    ("ж" * 71, "ucs2", 71, 2),
    ("ж" * 134, "ucs2", 134, 2),
    ("ж" * 135, "ucs2", 135, 3),
    ("a" * 68 + "\U0001f4a7", "ucs2", 70, 1),
    ("a" * 69 + "\U0001f4a7", "ucs2", 71, 2),
    ("à" * 160, "gsm7", 160, 1),
    ("ê", "ucs2", 1, 1),
    ("20° tonight", "ucs2", 11, 1),
]
"""Segment lengths 160/153 and 70/67 (3GPP TS 23.040 9.2.3.24.1; counts computed, 7.17 to 7.21)."""


@pytest.mark.parametrize(("text", "alphabet", "units", "segments"), SEGMENTS)
def test_segment_lengths(text, alphabet, units, segments):
    """The boundary cases of the published table."""
    found = measure_text(text)
    assert (found.alphabet, found.units, found.segments) == (alphabet, units, segments)
    assert "".join(split_into_segments(text)) == text


@given(st.text(alphabet=st.sampled_from(basic_alphabet() + "".join(EXTENSION.values())), max_size=400))
def test_septets_round_trip(text):
    """What is encoded comes back, as by the reference codec."""
    septets = to_septets(text)
    assert septets == text.encode("gsm03.38") and from_septets(septets) == text and is_gsm(text)


WORKED = [
    (
        "07911326040000F0040B911346610089F60000208062917314080CC8F71D14969741F977FD07",
        "+31641600986",
        "2002-08-26T19:37:41+00:00",
        "How are you?",
    ),
    (
        "0791448720003023240C914477581006500000916042113312800AE8329BFD4697D9EC37",
        "+447785016005",
        "2019-06-24T11:33:21+02:00",
        "hellohello",
    ),
]
"""PDU 1 (M7) and PDU 4 (M5) of the sheet."""


@pytest.mark.parametrize(("pdu", "sender", "stamp", "text"), WORKED)
def test_worked_pdus(pdu, sender, stamp, text):
    """Hex, sender, time with its zone and text, as published; smspdudecoder agrees on the text."""
    content = decode(pdu)
    assert isinstance(content, Delivered) and content.stamp is not None
    assert (content.sender, content.text, content.stamp.isoformat()) == (
        sender,
        text,
        content.stamp.fromisoformat(stamp).astimezone(content.stamp.tzinfo).isoformat(),
    )
    assert read_incoming_sms(pdu)["content"] == text


def test_the_pdu_of_1999():
    """PDU 2 (M1): the source says 1999; digits 27838890001 with type octet C8."""
    content = decode("07917283010010F5040BC87238880900F10000993092516195800AE8329BFD4697D9EC37")
    assert (
        isinstance(content, Delivered) and content.text == "hellohello" and content.sender.lstrip("+") == "27838890001"
    )


@pytest.mark.parametrize(
    ("octet", "hours"),
    [("4A", -6), ("8A", -7), ("69", -4), ("21", 3), ("80", 2), ("08", 0), ("00", 0), ("0A", -5), ("40", 1)],
)
def test_time_zone_octets(octet, hours):
    """Quarters of an hour, swapped, top bit for minus (M4; others computed)."""
    content = decode(f"0791448720003023240C9144775810065000009160421133{'12'}{octet}0AE8329BFD4697D9EC37")
    assert isinstance(content, Delivered) and content.stamp is not None
    expected = datetime(2019, 6, 24, 11, 33, 21, tzinfo=timezone(timedelta(hours=hours)))
    assert content.stamp == expected


@pytest.mark.parametrize("text", ["House tank is LOW since 07:17.", "€{}[]~^|\\", "ж" * 40, "x" * 400])
def test_submit_against_another_library(text):
    """python-gsmmodem-new builds the same number of segments with the same user data."""
    ours = encode_submit("+61491570156", text, 7, True)
    theirs = encodeSmsSubmitPdu("+61491570156", text, reference=0, requestStatusReport=True)
    assert len(ours) == len(theirs)
    if len(ours) == 1 and measure_text(text).alphabet == "gsm7":
        octets = -(-measure_text(text).units * 7 // 8)
        assert ours[0].pdu[-2 * octets :].upper() == str(theirs[0])[-2 * octets :].upper()


@pytest.mark.parametrize(
    ("said", "country", "number"),
    [
        ("0491 570 006", "AU", "+61491570006"),
        ("(02) 5550 1234", "AU", "+61255501234"),
        ("+61 491 570 156", "AU", "+61491570156"),
        ("07700 900123", "GB", "+447700900123"),
        ("020 7946 0123", "GB", "+442079460123"),
        ("(212) 555-0123", "US", "+12125550123"),
        ("1861", "AU", None),
        ("BALANCE", "AU", None),
    ],
)
def test_numbers_reserved_for_fiction_are_possible(said, country, number):
    """E.164 through phonenumbers 9: reserved numbers are possible even where they are not valid (ACMA, Ofcom, ATIS lists; 7.30)."""
    assert to_e164(said, country) == number
