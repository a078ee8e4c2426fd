"""A text that lists several inputs → its units: what stands before and behind each input, which it is, and its state."""

import pytest

from gateway.suggest.lists_of_inputs import units_of


@pytest.mark.parametrize(
    ("text", "units"),
    [
        ("Z1:HI Z2:LO", ["|Z||1", "Z|1|:|HI", "Z|2|:|LO"]),
        ("Z1:7 Z2:1", ["|Z||1", "|7| |Z", "Z|2|:|1"]),  # 7 is no state
        ("1=0;2=1", ["|1|=|0", "|2|=|1"]),
        ("IN1+ IN2-", ["IN|1||+", "IN|2||-"]),
        ("A:HI", ["|A|:|HI"]),
        ("TANK 1 OK", ["TANK |1| |OK", "|1| |OK"]),
        ("Z1 12.6V", ["|Z||1"]),  # what is measured is no state
        ("Z-1:HI", ["|Z||-", "Z-|1|:|HI"]),
        ("Z1:(HI", ["|Z||1"]),
        ("gate up", []),
    ],
)
def test_every_unit_of_every_form(text, units):
    """In order; which form is meant is found out by those that recur."""
    assert [f"{unit.form[0]}|{unit.which}|{unit.form[1]}|{unit.state}" for unit in units_of(text)] == units
