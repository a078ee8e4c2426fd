"""What `tests.faults.without` takes out of the program is still in it."""

from pathlib import Path

import pytest

from tests.faults.undone import UNDONE
from tests.faults.undone_modem import UNDONE_MODEM

HERE = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("one", (*UNDONE, *UNDONE_MODEM), ids=lambda one: f"{one.row}-{one.remedy}")
def test_every_remedy_is_where_it_is_taken_out(one):
    """A line that was changed since is changed in `undone.py` too, so that the proof can be run at any time."""
    for file, old, new in ((one.file, one.old, one.new), *one.also):
        assert old in (HERE / file).read_text("utf-8") and old != new
