"""Texts in the letters of a language: octets and words.

Source: 3GPP TS 23.038 annex A as public telephony stacks code and test it (read 26 November 2026), and texts built by hand with those tables;
the reserved statuses after TS 23.040 9.2.3.15 (from memory).
"""

import pytest

from gateway.facts import Delivered
from gateway.gsm.alphabet import from_septets, unpack_octets
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


def test_row_65_a_language_without_a_table_is_marked():
    """Bengali: what stands there is shown as the default alphabet has it, and says so."""
    content = decode(HEAD + "1D032501042096E16F90F8DD61810E9DC31A940FBB0FF9B71C4400")
    assert isinstance(content, Delivered) and content.text.startswith("(letters of language table 4, not known here)")


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
