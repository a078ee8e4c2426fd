"""What a PDU is for: people, or the phone, its SIM or a program in it (3GPP TS 23.040 9.2.3.9, 9.2.3.24.3 and .4)."""

import pytest

from gateway.facts import Delivered
from gateway.modem.pdu import decode

FROM = "0C9144775810065000"
"""A sender's address of the fictional range."""
STAMP, WORDS = "62112111223044", "05C8329BFD06"


def made(protocol="00", scheme="00", first="00", user_data=WORDS):
    """What is read of it."""
    content = decode(f"00{first}{FROM[:-2]}{protocol}{scheme}{STAMP}{user_data}")
    assert isinstance(content, Delivered), content
    return content


@pytest.mark.parametrize("protocol", ["00", "20", "3F", "41", "47", "5E", "5F", "7B", "80", "C0"])
def test_texts_are_for_people(protocol):
    """Those that replace one before, come through a fax or ask to be called back too."""
    assert (made(protocol).not_for_people, made(protocol).text) == (None, "Hello")


@pytest.mark.parametrize(
    ("protocol", "what"), [("40", "type 0"), ("7C", "ANSI"), ("7D", "phone"), ("7E", "unlock"), ("7F", "SIM")]
)
def test_what_is_for_the_phone_says_what_it_is(protocol, what):
    """A test whether it is on, data, orders."""
    assert what in made(protocol).not_for_people


@pytest.mark.parametrize(
    ("header", "scheme", "what"),
    [
        ("060504" + "0B8423F0", "F5", "port 2948"),
        ("060504" + "0B8423F0", "04", "port 2948"),
        ("0404020B0C", "04", "port 11"),
        ("060504" + "0B8423F0", "08", None),  # said to be letters, whatever port they go to: noise over silence
        ("050503" + "0B8423", "04", None),  # no such element
        ("0500030702" + "01", "04", None),
    ],
)
def test_data_with_a_port_are_for_a_program(header, scheme, what):
    """A WAP push is one; letters, and data without a port, are people's."""
    user_data = header + "00410042"
    content = made(scheme=scheme, first="40", user_data=f"{len(user_data) // 2:02X}{user_data}")
    assert content.not_for_people == (what and f"data for a program of the phone, {what}")
