"""A box's own time of day in its texts: `{time}` in a template, in the ways in which boxes write it."""

from datetime import time

import pytest

from gateway.rules.rulebook import compile_rulebook
from gateway.settings.controller_tables import RuleTable


@pytest.mark.parametrize(
    ("written", "clock"),
    [
        ("14:05", time(14, 5)),
        ("7:05", time(7, 5)),
        ("14.05", time(14, 5)),
        ("14h05", time(14, 5)),
        ("0717", time(7, 17)),
        ("14:05:30", time(14, 5, 30)),
        ("2:05 PM", time(14, 5)),
        ("12:05am", time(0, 5)),
    ],
)
def test_the_ways_to_write_it(written, clock):
    """The reading has it, whatever stands behind."""
    book = compile_rulebook([RuleTable(text="STATION WELL {time} *", means="alive")])
    assert book.read(f"STATION WELL {written} 12.6 V").readings[0].clock == clock


def test_a_time_that_is_none_costs_no_reading():
    """A box whose clock says 24:60 is alive all the same; words in its place are another text."""
    book = compile_rulebook([RuleTable(text="STATION WELL {time}", means="alive")])
    assert [reading.clock for reading in book.read("STATION WELL 24:60").readings] == [None]
    assert book.read("STATION WELL NOON").rule is None
