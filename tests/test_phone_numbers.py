"""A number as a person or the network wrote it: what it is, what it becomes, and how it is shown."""

import pytest

from gateway.phone_numbers import (
    as_it_came,
    as_name,
    is_country,
    is_emergency,
    is_name,
    is_network_code,
    is_reserved_for_fiction,
    line_kind,
    normalise_number,
    to_e164,
    to_national,
)


@pytest.mark.parametrize(
    ("written", "full"),
    [
        ("0491 570 156", "+61491570156"),
        (" (02) 5550-0000 ", "+61255500000"),
        ("+61 491 570 156", "+61491570156"),
        ("0011 44 7700 900123", "+447700900123"),
        ("000", None),
        ("123456", None),  # a short code
        ("1234567", None),
        ("+123456", None),
        ("Water", None),
        ("0491 57O 156", None),
        ("", None),
        ("+", None),
        # of no length that a country's phones have: as it stands, if it was written in full
        ("+88 0", None),
        ("+8816 1234 5678 901", "+881612345678901"),
        ("+8816123456789012", None),
        ("+61 4", None),
        ("+61 49 157 0", "+61491570"),
        ("0491 570 156 0491 570 157", None),
    ],
)
def test_a_number_as_it_was_written(written, full):
    """E.164 where it can be one; else as it came."""
    assert to_e164(written, "AU") == full
    assert normalise_number(written, "AU") == (full or written.strip())


@pytest.mark.parametrize(
    ("name", "kept"),
    [("Water", "Water"), ("0491570156", '"0491570156"'), ("+1", '"+1"'), ("A1", "A1"), ("", "")],
)
def test_a_sender_that_is_a_name(name, kept):
    """In quotes where it could be read as a number; and back to what the network said."""
    assert as_name(name) == kept and as_it_came(kept) == name
    assert is_name(kept) is (kept != name)


@pytest.mark.parametrize("sender", ['"', '"A1"', '"0491570156', '0491570156"', "11", ""])
def test_what_is_no_name_in_quotes(sender):
    """One quote, or letters: it is as it came."""
    assert not is_name(sender) and as_it_came(sender) == sender


@pytest.mark.parametrize(
    ("number", "shown"),
    [
        ("+61491570156", "0491 570 156"),
        ("+447700900123", "+44 7700 900123"),
        ("Water", "Water"),
        ('"0491570156"', '"0491570156"'),
    ],
)
def test_a_number_as_people_write_it(number, shown):
    """National at home, international abroad; a name as it is."""
    assert to_national(number, "AU") == shown


@pytest.mark.parametrize(
    ("code", "can_be_dialled"),
    [
        ("*100#", True),
        ("+1", True),
        ("1" * 30, True),
        ("1" * 31, False),
        ("", False),
        ("*1a#", False),
        ("*1#\n", False),
    ],
)
def test_codes_that_the_network_answers(code, can_be_dialled):
    """Figures and the signs of a phone's keys."""
    assert is_network_code(code) is can_be_dialled


@pytest.mark.parametrize(
    ("number", "country", "reaches"),
    [("000", "AU", True), ("112", "AU", True), ("0491570156", "AU", False), ("000", "XX", False)],
)
def test_an_emergency_number(number, country, reaches):
    """Of a country that is known."""
    assert is_emergency(number, country) is reaches
    assert is_country(country) is (country == "AU")


@pytest.mark.parametrize(
    ("number", "fiction", "kind"),
    [
        ("+61491570156", True, "mobile"),
        ("+61255501234", True, "landline"),
        ("+61412345678", False, "mobile"),
        ("+61262705000", False, "landline"),
        ("+611900123456", False, "premium"),
        ("+61000", False, "none"),
        ("+12025550123", True, "either"),
        ("0491570156", False, "other"),
        ("+614915701560", False, "none"),
    ],
)
def test_what_a_number_is(number, fiction, kind):
    """For books and films alone, and on what line."""
    assert is_reserved_for_fiction(number) is fiction
    assert line_kind(number) == kind
