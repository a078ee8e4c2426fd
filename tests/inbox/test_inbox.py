"""Parts join in any order, doubled or not; a stamp is believed only where it can be true."""

import itertools
from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts import PartOf
from gateway.inbox import believable, clock_standing, clock_trusted, join, time_of_text
from gateway.inbox.joined_parts import what_there_is
from gateway.ports import StoredPart

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def part(number: int, total: int = 3, text: str | None = None, *, heard: int = 0) -> StoredPart:
    return StoredPart(
        id=number * 10 + heard,
        number="+61491570006",
        part=PartOf(reference=7, number=number, total=total),
        text=text or f"<{number}>",
        stamp=NOW - timedelta(minutes=1),
        heard_at=NOW + timedelta(seconds=heard),
    )


@pytest.mark.parametrize("order", list(itertools.permutations([1, 2, 3])))
def test_parts_in_any_order_and_doubled(order):
    """Every order gives the same text, and a doubled part changes nothing."""
    parts = [part(number) for number in order]
    assert join(parts[:2]) is None
    whole = join([*parts, parts[0]])
    assert whole is not None and whole.text == "<1><2><3>" and whole.segments == 3


def test_what_there_is_marks_the_gap():
    """After its time an incomplete text is shown with a mark for what is missing."""
    shown = what_there_is([part(3), part(1)])
    assert shown.text == "<1>[...]<3>" and shown.missing_parts == (2,)


@pytest.mark.parametrize(
    ("stamp", "believed"),
    [
        (NOW, True),
        (NOW - timedelta(days=3), True),
        (NOW + timedelta(minutes=10), True),
        (NOW + timedelta(hours=3), False),
        (NOW - timedelta(days=365), False),
        (datetime(1970, 1, 1, tzinfo=UTC), False),
        (None, False),
    ],
)
def test_stamps_that_can_be_true(stamp, believed):
    """Years off is kept but not believed; a SIM may well hold a text for days."""
    assert believable(stamp, NOW) is believed
    assert time_of_text(stamp, NOW).at == (min(stamp, NOW) if believed else NOW)


def test_a_clock_that_was_never_set():
    """A board that wakes in 1970 is not trusted, and then the network's stamp is the better clock."""
    early = datetime(1970, 1, 1, 0, 1, tzinfo=UTC)
    assert not clock_trusted(early) and clock_trusted(NOW)
    assert time_of_text(NOW, early, clock=clock_standing(early, None)).at == NOW
