"""Text ↔ septets ↔ octets, segments, transliteration and the key of a PDU, each held against values worked out by hand."""

from hashlib import sha256

import pytest

from gateway.gsm.alphabet import (
    DEFAULT,
    ESCAPE,
    EXTENSION,
    count_septets,
    fill_bits_behind,
    from_septets,
    is_gsm,
    pack_septets,
    to_septets,
    unpack_octets,
)
from gateway.gsm.national_tables import LOCKING, SINGLE
from gateway.gsm.segments import measure_text, split_into_segments
from gateway.gsm.tpdu_key import tpdu_key
from gateway.gsm.transliterate import transliterate


@pytest.mark.parametrize(
    ("text", "septets"),
    [
        ("@£", b"\x00\x01"),
        ("Az", b"\x41\x7a"),
        ("à", b"\x7f"),
        ("€[", b"\x1b\x65\x1b\x3c"),
        ("", b""),
        ("ж", None),
        ("A\x1b", None),  # the escape is no character
    ],
)
def test_text_to_septets_and_back(text, septets):
    """An extension character takes two; what has no place in the alphabet is said to have none."""
    assert to_septets(text) == septets and is_gsm(text) is (septets is not None)
    if septets is not None:
        assert from_septets(septets) == text and sum(map(count_septets, text)) == len(septets)


@pytest.mark.parametrize(
    ("septets", "languages", "text"),
    [
        (b"\x1b\x41", {}, "A"),  # no such extension: the alphabet's own character
        (b"A\x1b", {}, "A "),
        (b"\x1b\x1bA", {}, " A"),
        (b"\x40\x60", {"locking": 1}, "İç"),
        (b"\x40\x1b\x65", {"locking": 3}, "Í€"),
        (b"\x40\x60", {"locking": 14}, "¡¿"),  # a language that has no table
        (b"\x40\x60", {"locking": 2}, "¡¿"),  # Spanish locks nothing
        (b"\x00\x1b\x65\x61", {"locking": 6}, "\u0901€a"),
        (b"\x1b\x53\x1b\x65S", {"single": 1}, "Ş€S"),
        (b"\x1b\x41\x1b\x61", {"single": 2}, "Áá"),
        (b"\x1b\x53", {"single": 14}, "S"),
        (b"\x1b\x00\x1b\x53\x1b\x1c\x1b\x28\x1b\x3f", {"single": 6}, "@S\u0966{?"),
        (b"\x1b\x40\x1b\x44", {"locking": 1, "single": 1}, "|D"),
        (b"\x1b\x04", {"locking": 1}, "€"),
    ],
)
def test_septets_of_any_language_to_text(septets, languages, text):
    """Escapes with nothing behind them, and the tables of a language in place of the default ones."""
    assert from_septets(septets, **languages) == text


def test_every_code_of_the_tables():
    """Each of the 127 characters, each extension and each letter of a language by its own code."""
    for code, char in enumerate(DEFAULT):
        assert from_septets(bytes([code])) == (" " if code == ESCAPE else char)
    for code, char in EXTENSION.items():
        assert from_septets(bytes([ESCAPE, code])) == char
    for language, table in LOCKING.items():
        assert [from_septets(bytes([code]), locking=language) for code in table] == list(table.values())
    for language, table in SINGLE.items():
        assert [from_septets(bytes([ESCAPE, code]), single=language) for code in table] == list(table.values())


@pytest.mark.parametrize(
    ("septets", "fill_bits", "octets"),
    [
        (b"", 0, ""),
        (b"\x7f", 0, "7f"),
        (b"\x41\x42", 0, "4121"),
        (b"hellohello", 0, "e8329bfd4697d9ec37"),  # ten septets in nine octets
        (b"\x41", 1, "82"),
        (b"\x41\x42", 6, "405008"),
        (b"1234567", 0, "31d98c56b3dd00"),
        (b"12345678", 0, "31d98c56b3dd70"),
    ],
)
def test_packing(septets, fill_bits, octets):
    """Least significant bit first, behind the fill bits; and back."""
    assert pack_septets(septets, fill_bits=fill_bits).hex() == octets
    assert unpack_octets(bytes.fromhex(octets), len(septets), fill_bits=fill_bits) == septets


@pytest.mark.parametrize(
    ("octets", "count", "fill_bits", "septets"),
    [
        ("31d98c56b3dd00", 7, 0, b"1234567"),
        ("31d98c56b3dd00", 9, 0, b"1234567\0"),  # no more than there are
        ("31d98c56b3dd00", 3, 0, b"123"),
        ("41", 2, 0, b"A"),
        ("82", 3, 1, b"A"),
        ("82", 3, 2, b""),
        ("", 3, 0, b""),
        ("", 3, 5, b""),
    ],
)
def test_unpacking_what_ends_too_early(octets, count, fill_bits, septets):
    """As many septets as the octets hold behind the fill bits."""
    assert unpack_octets(bytes.fromhex(octets), count, fill_bits=fill_bits) == septets


@pytest.mark.parametrize(("header", "bits"), [(6, 1), (7, 0), (5, 2), (1, 6), (0, 0)])
def test_fill_bits_behind_a_header(header, bits):
    """Septets begin on a septet boundary."""
    assert fill_bits_behind(header) == bits


@pytest.mark.parametrize(
    ("text", "alphabet", "units", "segments"),
    [
        ("", "gsm7", 0, [0]),
        ("a" * 160, "gsm7", 160, [160]),
        ("a" * 161, "gsm7", 161, [153, 8]),
        ("a" * 306, "gsm7", 306, [153, 153]),
        ("a" * 158 + "€", "gsm7", 160, [159]),
        ("a" * 159 + "€", "gsm7", 161, [153, 7]),
        ("a" * 152 + "€" * 5, "gsm7", 162, [152, 5]),  # no pair is parted
        ("a" * 151 + "€" * 5, "gsm7", 161, [152, 4]),
        ("ж" * 70, "ucs2", 70, [70]),
        ("ж" * 71, "ucs2", 71, [67, 4]),
        ("ж" * 68 + "🚰", "ucs2", 70, [69]),
        ("ж" * 66 + "🚰" * 3, "ucs2", 72, [66, 3]),
        ("ж" * 65 + "🚰" * 3, "ucs2", 71, [66, 2]),
        ("ж\uffff" * 34 + "ж\ud800", "ucs2", 70, [70]),
        ("ж" * 69 + "\uffff\uffff", "ucs2", 71, [67, 4]),
    ],
)
def test_what_room_a_text_takes(text, alphabet, units, segments):
    """160 and 153 septets, 70 and 67 units; the length of each segment in characters, and joined they are the text."""
    measure = measure_text(text)
    assert (measure.alphabet, measure.units, measure.segments) == (alphabet, units, len(segments))
    parts = split_into_segments(text)
    assert [len(part) for part in parts] == segments and "".join(parts) == text


@pytest.mark.parametrize(
    ("text", "near"),
    [
        ("Füllstand é €", "Füllstand é €"),
        ("č ž ж", "c z zh"),
        ("façade", "facade"),
        ("`\xa0\t", "'  "),
        ("e\u0301", "é"),  # composed first
        ("c\u0323", "c"),
        ("\u200b\u0301a\u00ad", "a"),  # what nobody sees goes
        ("x\ud800y", "x?y"),
        ("x\udfffy", "x?y"),
        ("\ue000", "?"),  # a letter that is lost leaves a mark
        ("\u2028", "\n"),
        ("“ж”", '"zh"'),
        ("\uffff", "?"),
    ],
)
def test_the_nearest_letters(text, near):
    """Everything that comes out is of the alphabet; what fits already stays as it is."""
    assert transliterate(text) == near and is_gsm(near)


@pytest.mark.parametrize(
    ("pdu", "hashed"),
    [
        ("0791446742949999040B", bytes.fromhex("040b")),
        (" 0791446742949999040b\r\n", bytes.fromhex("040b")),
        ("00040B", bytes.fromhex("040b")),
        ("0291440B", bytes.fromhex("0b")),
        ("0391440B", bytes.fromhex("0391440b")),  # the address would be the whole of it
        ("0491440B", bytes.fromhex("0491440b")),
        ("", b""),
        ("0G", b"0G"),
        ("abc", b"ABC"),
    ],
)
def test_the_key_of_a_pdu(pdu, hashed):
    """Of the TPDU without the centre's address; of what is no PDU, of all that came."""
    assert tpdu_key(pdu) == sha256(hashed).hexdigest()


def test_no_table_has_a_blank_in_place_of_a_sign():
    """Where a language has none behind an escape the alphabet's own character is shown, and every sign is one."""
    signs = [sign for table in SINGLE.values() for sign in table.values()]
    assert len(signs) > 300 and " " not in signs
