"""PDUs octet by octet: each field as the standard lays it out, and what is cut short or contradicts itself said in words."""

from datetime import UTC, datetime

import pytest

from gateway.errors import ModemTrouble
from gateway.facts import Delivered, PartOf, Report, Undecodable
from gateway.gsm.alphabet import pack_septets
from gateway.modem.pdu.decode import coding_of, decode, is_whole, outcome_of
from gateway.modem.pdu.encode import encode_submit
from gateway.modem.pdu.octets import Octets, stamp

RIDGE = "0B911694510700F6"
AT = "62115221000044"
"""2026-11-25 12:00:00, eleven hours ahead."""
NOON = datetime(2026, 11, 25, 1, 0, tzinfo=UTC)


def deliver(user_data: str, *, first="04", centre="00", sender=RIDGE, dcs="00", at=AT) -> str:
    """An SMS-DELIVER, piece by piece."""
    return f"{centre}{first}{sender}00{dcs}{at}{user_data}"


def septets(text: str, fill_bits: int = 0) -> str:
    return pack_septets(text.encode("ascii"), fill_bits=fill_bits).hex()


@pytest.mark.parametrize(
    ("pdu", "text", "more"),
    [
        (deliver("02C834"), "Hi", {}),
        (deliver("02C834", centre="0791446742949999"), "Hi", {}),
        (deliver("02C834", dcs="F0"), "Hi", {}),
        (deliver("00"), "", {}),
        (deliver("0A" + septets("hellohello")), "hellohello", {}),
        (deliver("0400480069", dcs="08"), "Hi", {}),
        (deliver("044869D800", dcs="08"), "\u4869\ufffd", {}),
        (deliver("024869", dcs="04"), "Hi", {"coding": "data"}),
        (deliver("0448690D0A", dcs="F4"), "Hi\r\n", {"coding": "data"}),
        (deliver("024800", dcs="04"), "(8-bit data) 48 00", {"coding": "data"}),
        (deliver("024869", dcs="20"), "(compressed data) 48 69", {"coding": "data"}),
        (deliver("02C834", at="FFFFFFFFFFFFFF"), "Hi", {"stamp": None}),
        # parts: the letters begin at the next septet boundary behind the header
        (
            deliver("0A050003070201" + septets("Hey", 1), first="44"),
            "Hey",
            {"part": PartOf(reference=7, number=1, total=2)},
        ),
        (
            deliver("0B06080401070201" + septets("Hey"), first="44"),
            "Hey",
            {"part": PartOf(reference=263, number=1, total=2)},
        ),
        (
            deliver("0A050003070202" + "00480069", first="44", dcs="08"),
            "Hi",
            {"part": PartOf(reference=7, number=2, total=2)},
        ),
        (deliver("08050003070200" + "4869", first="44", dcs="04"), "Hi", {"coding": "data"}),
        (deliver("08050003070203" + "4869", first="44", dcs="04"), "Hi", {"coding": "data"}),
        (deliver("08050002070201" + "4869", first="44", dcs="04"), "Hi", {"coding": "data"}),
        (deliver("08050803070201" + "4869", first="44", dcs="04"), "Hi", {"coding": "data"}),
        # an element that claims more than there is, or an octet behind the last: the whole header is ignored (9.2.3.24), the text is not
        (deliver("08050005070201" + "4869", first="44", dcs="04"), "Hi", {"coding": "data"}),
        (deliver("0906000307020100" + "4869", first="44", dcs="04"), "Hi", {"coding": "data"}),
        (
            deliver("0D0A00030702010003090302" + "4869", first="44", dcs="04"),
            "Hi",
            {"coding": "data", "part": PartOf(reference=9, number=2, total=3)},
        ),
        # the language of the letters
        (deliver("0603250101" + septets("@", 3) + "00", first="44"), "İ", {}),
        (deliver("0703240101" + septets("\x1bS", 3), first="44"), "Ş", {}),
        (deliver("05022500" + septets("@", 4), first="44"), "¡", {}),
        (deliver("02C834", first="04", sender="04D0C834"), "Hi", {"sender": "Hi"}),
        (deliver("02C834", sender="0481" + "2143"), "Hi", {"sender": "1234"}),
    ],
)
def test_a_text_that_came(pdu, text, more):
    """In each alphabet, alone or as a part, from a number or a name."""
    content = decode(pdu)
    expected = {"sender": "+61491570006", "text": text, "stamp": NOON, "part": None, "coding": "text", **more}
    assert content == Delivered(**expected)


@pytest.mark.parametrize(
    ("pdu", "reason"),
    [
        ("0G", "this is no whole number of hexadecimal octets"),
        ("000", "this is no whole number of hexadecimal octets"),
        ("", "cut short: the service centre's length needs 1 octets, 0 are there"),
        ("0291", "cut short: the service centre's address needs 2 octets, 1 are there"),
        ("00", "cut short: the first octet of the message needs 1 octets, 0 are there"),
        ("0004", "cut short: the length of the sender needs 1 octets, 0 are there"),
        ("00040B911694", "cut short: the sender needs 6 octets, 2 are there"),
        ("0001", "a message to be sent, not one that came (SMS-SUBMIT)"),
        (deliver("0AC834"), "cut short: 10 units of text were promised; what is there reads: Hi"),
        (deliver("0300480069", dcs="08").removesuffix("0069"), "cut short: 3 units of text were promised"),
        (deliver("020500", first="44"), "the user data's header claims 6 octets, 2 are there"),
        (deliver("05" + "0548696900", first="44", dcs="04"), "the user data's header claims 6 octets, 5 are there"),
    ],
)
def test_what_nobody_can_read(pdu, reason):
    """It says why, and what of it can be read."""
    content = decode(pdu)
    assert isinstance(content, Undecodable) and content.reason.startswith(reason), content


REPORT = f"000607{RIDGE}{AT}{AT}"


@pytest.mark.parametrize(
    ("status", "outcome"),
    [
        ("00", "delivered"),
        ("01", "trying"),
        ("02", "delivered"),
        ("1F", "delivered"),
        ("20", "trying"),
        ("3F", "trying"),
        ("40", "failed"),
        ("7F", "failed"),
        ("80", "trying"),
        ("FF", "trying"),
    ],
)
def test_a_report(status, outcome):
    """What became of a segment: as its class says."""
    expected = {"reference": 7, "number": "+61491570006", "outcome": outcome, "status": int(status, 16)}
    assert decode(REPORT + status) == Report(**expected, stamp=NOON, discharged=NOON)
    assert outcome_of(int(status, 16)) == outcome


@pytest.mark.parametrize(
    ("pdu", "whole"),
    [
        (deliver("02C834"), True),
        (deliver("02C834") + "00", False),
        (deliver("02C8"), False),
        (REPORT + "00", True),
        (REPORT + "0000", False),
        ("0001", False),
        ("0G", False),
    ],
)
def test_whether_an_octet_was_lost(pdu, whole):
    """Just as many as the message says."""
    assert is_whole(pdu) is whole


@pytest.mark.parametrize(
    ("schemes", "coding"),
    [
        ((0x00, 0x01, 0x0C, 0x10, 0x4C, 0x80, 0xC0, 0xD0, 0xF0, 0xF1, 0xB4), "gsm7"),
        ((0x04, 0x14, 0x44, 0xF4, 0xF5), "data"),
        ((0x08, 0x18, 0x48, 0xE0, 0xE4), "ucs2"),
        ((0x20, 0x24, 0x28, 0x60), "compressed"),
    ],
)
def test_how_a_text_is_coded(schemes, coding):
    """Reserved ones as the default alphabet."""
    assert {coding_of(scheme) for scheme in schemes} == {coding}


@pytest.mark.parametrize(
    ("octets", "at"),
    [
        ("62115221000044", NOON),
        ("6211522100004C", datetime(2026, 11, 25, 23, 0, tzinfo=UTC)),
        ("62115221000010", datetime(2026, 11, 25, 11, 45, tzinfo=UTC)),
        ("98115221000000", datetime(2089, 11, 25, 12, 0, tzinfo=UTC)),
        ("09115221000000", datetime(1990, 11, 25, 12, 0, tzinfo=UTC)),
        ("29115221954300", datetime(1992, 11, 25, 12, 59, 34, tzinfo=UTC)),
        ("62315221000044", None),
        ("62A15221000044", None),
        ("621A5221000044", None),
        ("621152210000A4", None),
        ("00000000000000", None),
    ],
)
def test_a_time_stamp(octets, at):
    """Swapped digits in local time, and the zone in quarters of an hour; what is no time is none."""
    assert stamp(bytes.fromhex(octets)) == at


@pytest.mark.parametrize(
    ("octets", "address"),
    [
        ("0B911694510700F6", "+61491570006"),
        ("0B811694510700F6", "61491570006"),
        ("03A121F3", "123"),
        ("0391BA1C", "+*#a"),
        ("0091", ""),
        ("04D0C834", "Hi"),
        ("04D031D9", '"12"'),
        ("0ED0" + septets("Hellooo") + "00", "Hellooo"),
        ("0ED0" + septets("Hellooo\0"), "Hellooo"),
    ],
)
def test_an_address(octets, address):
    """With a plus where it is international; a name in quotes where it could be read as a number."""
    assert Octets(bytes.fromhex(octets)).address("the sender") == address


@pytest.mark.parametrize(
    ("number", "text", "report", "pdus"),
    [
        ("+61491570006", "Hi", False, ["0011000B911694510700F60000A702C834"]),
        ("+61491570006", "Hi", True, ["0031000B911694510700F60000A702C834"]),
        ("1234", "", False, ["001100048121430000A700"]),
        ("123", "ж", False, ["001100038121F30008A7020436"]),
    ],
)
def test_a_message_to_be_sent(number, text, report, pdus):
    """Its number, its coding and its letters; valid for a day."""
    made = encode_submit(number, text, 263, report)
    assert [each.pdu for each in made] == pdus
    assert [each.length for each in made] == [len(pdu) // 2 - 1 for pdu in pdus]


def test_a_message_of_several_segments():
    """Each with its header: reference, how many, which; its length counts the header."""
    first, second = encode_submit("123", "a" * 160 + "b", 263, False)
    head = "005100038121F30000A7"
    assert first.pdu == head + "A0" + "050003070201" + septets("a" * 153, 1).upper()
    assert second.pdu == head + "0F" + "050003070202" + septets("a" * 7 + "b", 1).upper()
    one, two = encode_submit("123", "ж" * 71, 0, False)
    assert one.pdu == "005100038121F30008A7" + "8C" + "050003000201" + "0436" * 67
    assert two.pdu == "005100038121F30008A7" + "0E" + "050003000202" + "0436" * 4


@pytest.mark.parametrize("number", ["", "+", "Wren", "+61 491", "1" * 21, "*100#"])
def test_numbers_that_nothing_can_be_sent_to(number):
    """One to twenty figures."""
    with pytest.raises(ModemTrouble, match="cannot send to"):
        encode_submit(number, "Hi", 0, False)


def test_the_most_segments_that_one_text_can_have():
    """The header counts them in one octet."""
    assert len(encode_submit("1" * 20, "a" * 153 * 255, 0, False)) == 255
    with pytest.raises(ModemTrouble, match="cannot send 256 segments"):
        encode_submit("123", "a" * 153 * 255 + "a", 0, False)
