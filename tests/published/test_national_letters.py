"""Texts in the letters of a language: octets and words.

Source: 3GPP TS 23.038 annex A as public telephony stacks code and test it (read 26 November 2026), and texts built by hand with those tables;
the reserved statuses after TS 23.040 9.2.3.15 (from memory).
"""

import pytest

from gateway.facts import Delivered
from gateway.gsm.alphabet import fill_bits_behind, from_septets, pack_septets, unpack_octets
from gateway.modem.pdu import decode
from gateway.modem.pdu.decode import outcome_of

HEAD = "00400C91447700091032000062112671520000"
TEXTS = {
    "23032401012096E16F90F8BD99B3409BF466BE49AF41F9B07B93CEBFE5A04D19": "Depo boş, ışık yanıyor €",
    "1D032501012096E16F90F8DD61810E9DC31A940FBB0FF9B71C4400": "Depo boş, ışık yanıyor €",
    "16062401012501010B06F0D0016D503518A8B44901": "Ğğİış {50 %}",
    "2A032401022096E19BF73C4D7F83ECE1F126FDD6816232101AD4DE84E72C10F8BDFE8136E51A": "Depósito vacío: 12 h más, ¿ok? €5",
    "2403240103A086DDF17A19344697D36FD07F0E8AE1406816284C2FBB3789CDFE0D": "Tanque cheio às 18 h, atenção",
    "290325010318A6E7F4B2DC1D06C5EBE17919640FEBD3611DC8BD7F83D00F105C5E9ECFF76F": "Cisterna quase vazia: não há pressão",
}


@pytest.mark.parametrize(("user_data", "text"), TEXTS.items())
def test_row_65_letters_of_a_language(user_data, text):
    """Turkish, Spanish and Portuguese, single shift, locking, or both."""
    content = decode(HEAD + user_data)
    assert isinstance(content, Delivered) and content.text == text


@pytest.mark.parametrize(
    ("octets", "septets", "locking", "single", "text"),
    [
        ("1BC586B2416D529BD786B7E96D7C1BE002C8011318870E", 26, 1, 1, "\f^{}\\[~]|ĞİŞç€ğış"),
        (
            "84C446B160381E1BC96662D9543696CD6583D9643C1BD42675D9F0C01B9F8602CC74B75C0EE68030ECF91D",
            49,
            3,
            3,
            "êç\fÔôÁáΦΓ^ΩΠΨΣΘÊ{}\\[~]|ÀÍÓÚÃÕÂ€íóúãõâ",
        ),
        ("9BC446B1A16C509BD4E6B5E16D7A1BDF06B8096E929BE7A6BA096FCA9BF4E6BDA903", 38, 0, 2, "ç\f^{}\\[~]|ÁÍÓÚá€íóú"),
    ],
)
def test_row_65_the_tables(octets, septets, locking, single, text):
    """Every letter that differs."""
    assert from_septets(unpack_octets(bytes.fromhex(octets), septets), locking=locking, single=single) == text


# Language → (the block of its script in Unicode, letters by their septets, a digit behind an escape); by the standard's charts.
SCRIPTS = {
    4: (0x0980, {0x03: "\u0985", 0x15: "\u0995"}, {0x19: "\u09e6"}),
    5: (0x0A80, {0x03: "\u0a85", 0x15: "\u0a95", 0x7F: "\u0af1"}, {0x1C: "\u0ae6"}),
    6: (0x0900, {0x03: "\u0905", 0x15: "\u0915"}, {0x1C: "\u0966"}),
    7: (0x0C80, {0x03: "\u0c85", 0x15: "\u0c95"}, {0x1C: "\u0ce6"}),
    8: (0x0D00, {0x03: "\u0d05", 0x15: "\u0d15"}, {0x1C: "\u0d66"}),
    9: (0x0B00, {0x03: "\u0b05", 0x15: "\u0b15"}, {0x1C: "\u0b66"}),
    10: (0x0A00, {0x03: "\u0a05", 0x15: "\u0a15"}, {0x1C: "\u0a66"}),
    11: (0x0B80, {0x03: "\u0b85", 0x15: "\u0b95"}, {0x1C: "\u0be6"}),
    12: (0x0C00, {0x03: "\u0c05", 0x15: "\u0c15"}, {0x1C: "\u0c66"}),
    13: (0x0600, {0x00: "\u0627", 0x02: "\u0628"}, {0x1C: "\u06f0"}),
}


@pytest.mark.parametrize("language", SCRIPTS)
def test_row_65_scripts_of_their_own(language):
    """Each letter stands in its script's block, once; small letters, digits and stops are where they are in every language."""
    block, letters, digits = SCRIPTS[language]
    table = from_septets(bytes(code for code in range(128) if code != 0x1B), locking=language)
    own = [char for char in table if not char.isascii()]
    assert all(block <= ord(char) < block + (0x80 if language != 13 else 0x100) for char in own)
    assert len(own) == len(set(own)) > 50
    assert "0123456789" in table and "abcdefghijklmnopqrstuvwxyz" in table
    for code, char in letters.items():
        assert from_septets(bytes([code]), locking=language) == char
    for code, char in digits.items():
        assert from_septets(bytes([0x1B, code]), single=language) == char
    behind = from_septets(
        bytes(octet for code in range(128) for octet in (0x1B, code)), single=language, locking=language
    )
    assert "ABCDEFGHIJKLMNOPQRSTUVWXYZ" in behind and behind.startswith("@£$¥¿")


def test_row_65_a_text_in_hindi():
    """Locked in by its header: the words, and not the default alphabet's letters."""
    content = decode(HEAD + _locked(6, bytes([0x27, 0x5D, 0x20, 0x03])))
    assert isinstance(content, Delivered) and content.text == "\u0924\u094b \u0905"


def _locked(language, septets):
    header = bytes([3, 0x25, 1, language])
    behind = pack_septets(septets, fill_bits=fill_bits_behind(len(header)))
    septets_in_all = (8 * len(header) + fill_bits_behind(len(header))) // 7 + len(septets)
    return (bytes([septets_in_all]) + header + behind).hex().upper()


@pytest.mark.parametrize(
    ("status", "outcome"),
    [
        (0x00, "delivered"),
        (0x02, "delivered"),
        (0x01, "trying"),
        (0x30, "trying"),
        (0x46, "failed"),
        (0x7F, "failed"),
        (0x80, "trying"),
        (0xFF, "trying"),
    ],
)
def test_statuses_of_a_report(status, outcome):
    """By their class; reserved ones say nothing."""
    assert outcome_of(status) == outcome
