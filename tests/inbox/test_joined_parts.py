"""Which parts are one text: those whose stamps (or, without stamps, arrivals) are near each other, where no other part could be meant."""

import itertools
from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts import PartOf
from gateway.inbox import join
from gateway.inbox.joined_parts import left_over, what_there_is
from gateway.ports import StoredPart

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def part(name: str, stamp: int | None, heard: int = 0, total: int = 2) -> StoredPart:
    """`name`: the part's number and which text it is of ("1a"). `stamp`, `heard`: seconds after noon."""
    return StoredPart(
        id=1,
        number="+61491570006",
        part=PartOf(reference=7, number=int(name[0]), total=total),
        text=f"<{name}>",
        stamp=None if stamp is None else NOON + timedelta(seconds=stamp),
        heard_at=NOON + timedelta(seconds=heard),
    )


def groups(*parts: StoredPart) -> list[str]:
    """The texts that are shown once nothing more is waited for; there are never more of them than parts."""
    found = itertools.islice(left_over(parts), len(parts) + 1)
    return ["".join(sorted({each.text for each in group})) for group in found]


@pytest.mark.parametrize(
    ("first", "second", "joined"),
    [
        ((5, 0), (35, 0), True),  # stamps of neighbours, half a minute apart
        ((35, 0), (5, 0), True),
        ((5, 0), (36, 0), False),
        ((0, 0), (60, 30), True),  # whole minutes, between which the minute changed
        ((0, 0), (60, 31), False),
        ((0, 0), (120, 30), False),
        ((1, 0), (61, 0), False),
        ((0, 0), (61, 0), False),
        ((0, 0), (40, 0), False),
        ((None, 0), (None, 600), True),  # no stamps: ten minutes
        ((None, 600), (None, 0), True),
        ((None, 0), (None, 601), False),
        ((0, 0), (None, 600), True),
        ((0, 0), (None, 601), False),
        ((None, 0), (0, 600), True),
        ((None, 0), (0, 601), False),
    ],
)
def test_how_near_two_parts_are(first, second, joined):
    """Stamp and arrival of the first and of the second part; apart, each is a text of its own."""
    parts = [part("1a", *first), part("2a", *second)]
    whole = join(parts)
    assert (whole.text if whole is not None else None) == ("<1a><2a>" if joined else None)
    assert groups(*parts) == (["<1a><2a>"] if joined else ["<1a>", "<2a>"])


@pytest.mark.parametrize(("last", "joined"), [(65, True), (66, False)])
def test_parts_that_are_no_neighbours_may_be_further_apart(last, joined):
    """Half a minute for each step of the number: the third may be stamped a minute after the first."""
    assert (join([part("1a", 5, total=3), part("2a", 35, total=3), part("3a", last, total=3)]) is not None) is joined


@pytest.mark.parametrize(
    ("parts", "shown", "whole"),
    [
        # two texts after each other, heard at once: each part goes with what was stamped next to it, in the order of its number
        ([("1a", 1), ("2a", 5), ("1b", 9), ("2b", 13)], ["<1a><2a>", "<1b><2b>"], "<1b><2b>"),
        ([("1a", 1), ("2a", 5), ("1b", 6), ("2b", 10)], ["<1a><2a>", "<1b><2b>"], "<1b><2b>"),
        # without stamps, by arrival
        ([("1a", None, 0), ("2a", None, 10), ("2b", None, 60)], ["<1a><2a>", "<2b>"], "<1a><2a>"),
        ([("1a", None, 0), ("2a", 900, 10), ("2b", 900, 60)], ["<1a><2a>", "<2b>"], "<1a><2a>"),
        ([("1a", 900, 0), ("2a", None, 10), ("2b", None, 60)], ["<1a><2a>", "<2b>"], "<1a><2a>"),
        # as near as each other: nobody can say whose text it is
        ([("1a", 1), ("2a", 5), ("2b", 5)], ["<1a>", "<2a>", "<2b>"], None),
        # a double goes with its like
        ([("1a", 1), ("2a", 5), ("2a", 5, 40)], ["<1a><2a>"], "<1a><2a>"),
    ],
)
def test_whose_part_it_is(parts, shown, whole):
    """Words of two texts are never one; the newest that is whole is taken first."""
    stored = [part(*each) for each in parts]
    assert groups(*stored) == shown
    joined = join(stored)
    assert (None if joined is None else joined.text) == whole


def test_when_a_joined_text_is_from():
    """Its stamp is the first that there is, its arrival the last, and it happened when the first part came."""
    text = what_there_is([part("2a", 30, 20), part("1a", 10, 40), part("3a", None, 30)])
    seconds = [(time - NOON).total_seconds() for time in (text.stamp, text.at, text.heard_at)]
    assert seconds == [10, 20, 40]
    assert what_there_is([part("1a", None)]).stamp is None
