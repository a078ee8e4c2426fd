"""The two tables of DEVELOPERS.md, row by row: what time a text has, and what our clock is worth."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts.states import ClockEvidence, SenderStamps
from gateway.inbox import ClockStanding, after_a_step, clock_standing, time_of_text, weigh_stamp

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
EARLY = datetime(1970, 1, 1, 0, 1, tzinfo=UTC)
HOUR, MINUTE, DAY = timedelta(hours=1), timedelta(minutes=1), timedelta(days=1)


def before(stamp_ago: timedelta, heard_ago: timedelta, at_ago: timedelta | None = None) -> SenderStamps:
    """The text before, so long ago."""
    return SenderStamps(
        newest=NOW - stamp_ago,
        last=NOW - stamp_ago,
        heard_at=NOW - heard_ago,
        at=NOW - (stamp_ago if at_ago is None else at_ago),
    )


@pytest.mark.parametrize(
    ("stamp", "last", "confirmed", "at", "doubt"),
    [
        (NOW - MINUTE, None, False, NOW - MINUTE, None),
        (NOW + MINUTE, None, False, NOW, None),
        (NOW - 3 * DAY, None, False, NOW - 3 * DAY, None),
        (NOW - 3 * DAY, before(4 * DAY, 4 * DAY), False, NOW - 3 * DAY, None),
        (None, None, False, NOW, "no-stamp"),
        (NOW + HOUR, None, False, NOW, "ahead"),
        (NOW - 61 * DAY, None, False, NOW, "too-old"),
        (NOW - 3 * HOUR, before(3 * HOUR, 3 * HOUR), False, NOW, "stands-still"),
        (NOW - 5 * MINUTE, before(5 * MINUTE, 5 * MINUTE), False, NOW - 5 * MINUTE, None),
        (NOW - HOUR, before(MINUTE, MINUTE), False, NOW, "runs-back"),
        (NOW - 14 * HOUR, before(MINUTE, MINUTE), False, NOW, "runs-back"),
        (NOW - HOUR, before(2 * HOUR, HOUR, at_ago=30 * MINUTE), False, NOW, "runs-back"),
        (NOW - 2 * DAY, before(MINUTE, MINUTE), False, NOW - 2 * DAY, "late"),
        (NOW - 2 * DAY, before(2 * DAY - HOUR, DAY), False, NOW, "runs-back"),
        (NOW - HOUR, before(2 * HOUR, HOUR), True, NOW, "shifted"),
        (NOW - HOUR, before(2 * HOUR, HOUR), False, NOW - HOUR, None),
        (NOW - HOUR, before(3 * HOUR, HOUR), True, NOW - HOUR, None),
    ],
)
def test_the_time_of_a_text(stamp, last, confirmed, at, doubt):
    """Where our clock can be used."""
    judged = time_of_text(stamp, NOW, clock=ClockStanding(confirmed=confirmed), before=last)
    assert (judged.at, judged.doubt) == (at, doubt)


@pytest.mark.parametrize(
    ("stamp", "last", "at", "doubt"),
    [
        (NOW, None, NOW, None),
        (NOW + 2 * HOUR, before(timedelta(0), NOW - EARLY), NOW + 2 * HOUR, None),
        (NOW - HOUR, before(timedelta(0), NOW - EARLY + MINUTE), NOW + MINUTE, "runs-back"),
        (None, before(timedelta(0), NOW - EARLY + MINUTE), NOW + MINUTE, "clock"),
        (None, None, EARLY, "clock"),
        (datetime(2020, 1, 1, tzinfo=UTC), None, EARLY, "clock"),
    ],
)
def test_the_time_of_a_text_by_the_stamps_alone(stamp, last, at, doubt):
    """A board that woke in 1970."""
    judged = time_of_text(stamp, EARLY, clock=clock_standing(EARLY, None), before=last)
    assert (judged.at, judged.doubt) == (at, doubt)


def evidence(*stamps: tuple[timedelta, timedelta, str], synchronised: bool = False) -> ClockEvidence | None:
    """What is known after stamps (how long ago they came, by how much they were ahead of our clock, whose)."""
    known = None
    for ago, ahead, sender in stamps:
        known = weigh_stamp(known, NOW - ago + ahead, NOW - ago, sender, synchronised=synchronised)
    return known


@pytest.mark.parametrize(
    ("stamps", "verdict", "confirmed", "offset"),
    [
        ((), "right", False, timedelta(0)),
        (((HOUR, -MINUTE, "a"),), "right", True, timedelta(0)),
        (((8 * DAY, -MINUTE, "a"),), "right", False, timedelta(0)),
        (((HOUR, 3 * HOUR, "a"),), "doubtful", False, None),
        (((HOUR, 3 * HOUR, "a"), (MINUTE, 3 * HOUR, "a")), "wrong", False, 3 * HOUR),
        (((2 * MINUTE, 3 * HOUR, "a"), (MINUTE, 3 * HOUR, "b")), "wrong", False, 3 * HOUR),
        (((2 * MINUTE, 3 * HOUR, "a"), (MINUTE, 3 * HOUR, "a")), "doubtful", False, None),
        (((HOUR, -3 * HOUR, "a"),), "right", False, timedelta(0)),
        (((HOUR, -3 * HOUR, "a"), (MINUTE, -3 * HOUR, "a")), "wrong", False, -3 * HOUR),
        (((2 * MINUTE, -3 * HOUR, "a"), (MINUTE, -3 * HOUR, "b")), "right", False, timedelta(0)),
        (((HOUR, -MINUTE, "a"), (MINUTE, 3 * HOUR, "b"), (timedelta(0), 3 * HOUR, "c")), "right", True, timedelta(0)),
        (((HOUR, 90 * DAY, "a"), (MINUTE, 90 * DAY, "b")), "right", False, timedelta(0)),
        (((HOUR, 3 * HOUR, "a"), (MINUTE, -MINUTE, "b")), "right", True, timedelta(0)),
    ],
)
def test_what_our_clock_is_worth(stamps, verdict, confirmed, offset):
    """By the stamps that came."""
    standing = clock_standing(NOW, evidence(*stamps))
    assert (standing.verdict, standing.confirmed, standing.offset) == (verdict, confirmed, offset)


def test_a_time_server_is_believed_whatever_stamps_say():
    """Two of them that agree are two centres that are wrong."""
    stamps = ((HOUR, 3 * HOUR, "a"), (MINUTE, 3 * HOUR, "b"))
    assert clock_standing(NOW, evidence(*stamps), synchronised=True).confirmed
    assert clock_standing(NOW, evidence(*stamps, synchronised=True)).verdict == "right"


def test_what_is_left_after_the_clock_was_set():
    """A clock that is now past what a stamp showed is taken to be right; one that is still behind it is not."""
    wrong = evidence((HOUR, 3 * DAY, "a"), (MINUTE, 3 * DAY, "a"))
    assert after_a_step(wrong, NOW + 3 * DAY) is None
    left = after_a_step(wrong, NOW + DAY)
    assert left is not None and clock_standing(NOW + DAY, left).verdict == "doubtful"
    assert after_a_step(evidence((HOUR, -MINUTE, "a")), NOW) is None
