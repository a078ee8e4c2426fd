"""A sender's type of number decides whether it is a number or a name (TS 23.040 9.1.2.5); the plan decides nothing."""

import pytest

from gateway.gsm.alphabet import pack_septets, to_septets
from gateway.modem.pdu import decode
from gateway.phone_numbers import as_it_came, normalise_number

DIGITS = "61491570006"
INTERNATIONAL, ALPHANUMERIC = 1, 5
TEXT = bytes([0, 0]) + bytes.fromhex("62115231000004") + bytes([2]) + pack_septets(to_septets("OK"))


def sender_of(kind: int, plan: int, name: str) -> str:
    """The decoded sender of a text whose sender's address has this type and plan."""
    if kind == ALPHANUMERIC:
        septets = to_septets(name)
        address = bytes([(7 * len(septets) + 3) // 4, 0x80 | kind << 4 | plan]) + pack_septets(septets)
    else:
        padded = name + "F" * (len(name) % 2)
        swapped = "".join(padded[at + 1] + padded[at] for at in range(0, len(padded), 2))
        address = bytes([len(name), 0x80 | kind << 4 | plan]) + bytes.fromhex(swapped)
    return decode((bytes([0, 0x04]) + address + TEXT).hex()).sender


@pytest.mark.parametrize("kind", range(8))
@pytest.mark.parametrize("plan", range(16))
def test_only_a_name_is_a_name(kind, plan):
    """The same digits are a number in seven types and a name in one."""
    sender = sender_of(kind, plan, DIGITS)
    assert sender == {INTERNATIONAL: f"+{DIGITS}", ALPHANUMERIC: f'"{DIGITS}"'}.get(kind, DIGITS)
    assert (normalise_number(sender, "AU") == f"+{DIGITS}") is (kind != ALPHANUMERIC)


@pytest.mark.parametrize(
    "name", ["0491570006", "0491 570006", "+6149157000", "000", "*100#", "(02) 5550-1", '"0491"', " "]
)
def test_a_name_without_letters_stands_in_quotes(name):
    """It matches no number however that is written, and is shown as it came."""
    sender = sender_of(ALPHANUMERIC, 0, name)
    assert normalise_number(sender, "AU") == f'"{name}"' and as_it_came(sender) == name


@pytest.mark.parametrize("name", ["RidgeBox", "WREN 2", "Ünder"])
def test_a_name_with_letters_stays_as_it_is(name):
    """It can be no number, and may be a controller's own name."""
    assert sender_of(ALPHANUMERIC, 0, name) == as_it_came(name) == name
