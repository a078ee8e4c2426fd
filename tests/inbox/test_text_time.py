"""The two tables of DEVELOPERS.md, row by row: what time a text has, and what our clock is worth."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts.states.gateway_itself import ClockEvidence
from gateway.facts.states.people import SenderStamps
from gateway.inbox import (
    ClockStanding,
    after_a_step,
    clock_standing,
    in_time_for_a_repeat,
    latest_possible,
    nothing_came_between,
    time_of_text,
    weigh_stamp,
)

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
        (NOW - HOUR, before(2 * HOUR + MINUTE, HOUR), True, NOW, "shifted"),
        (NOW - HOUR, before(2 * HOUR + 2 * MINUTE, HOUR), True, NOW - HOUR, None),
        (NOW - HOUR, before(HOUR + MINUTE, MINUTE), True, NOW - HOUR, None),  # moments apart they prove nothing
        (NOW - 10 * MINUTE, before(HOUR, 50 * MINUTE), True, NOW - 10 * MINUTE, None),
        (NOW - HOUR, replace(before(2 * HOUR, HOUR), last=None), True, NOW - HOUR, None),
        (NOW - HOUR, replace(before(2 * HOUR, 2 * HOUR), newest=None), False, NOW - HOUR, None),
        (NOW - HOUR, before(-DAY, HOUR), False, NOW, "runs-back"),  # the one before was of a day that is not come
        (NOW - 15 * HOUR, before(timedelta(0), MINUTE), False, NOW, "runs-back"),
        (NOW - 10 * MINUTE, before(10 * MINUTE, 10 * MINUTE), False, NOW - 10 * MINUTE, None),
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
        (datetime(2066, 1, 1, tzinfo=UTC), None, EARLY, "clock"),
        (NOW - 15 * HOUR, before(timedelta(0), NOW - EARLY), NOW, "runs-back"),
        (NOW - 16 * HOUR, before(timedelta(0), NOW - EARLY), NOW - 16 * HOUR, None),
        (None, before(timedelta(0), NOW - EARLY - MINUTE), NOW, "clock"),  # our clock was set back since
        (None, before(timedelta(0), NOW - EARLY + 60 * DAY), NOW + 60 * DAY, "clock"),
        (None, before(timedelta(0), NOW - EARLY + 61 * DAY), NOW, "clock"),
    ],
)
def test_the_time_of_a_text_by_the_stamps_alone(stamp, last, at, doubt):
    """A board that woke in 1970."""
    judged = time_of_text(stamp, EARLY, clock=clock_standing(EARLY, None), before=last)
    assert (judged.at, judged.doubt) == (at, doubt)


@pytest.mark.parametrize(
    ("lag", "came_before", "at", "doubt"),
    [
        (10 * MINUTE, True, NOW - 10 * MINUTE, None),
        (11 * MINUTE, True, NOW, "stands-still"),
        (11 * MINUTE, False, NOW - 11 * MINUTE, None),
    ],
)
def test_octets_that_came_before_and_are_no_repeat(lag, came_before, at, doubt):
    """Their stamp stands still, unless it is of these minutes."""
    judged = time_of_text(NOW - lag, NOW, came_before=came_before)
    assert (judged.at, judged.doubt) == (at, doubt)


@pytest.mark.parametrize(
    ("stamp", "at", "doubt"),
    [(NOW - HOUR, NOW - HOUR, "late"), (NOW + HOUR, NOW, "late"), (None, NOW, "no-stamp")],
)
def test_a_text_that_another_overtook(stamp, at, doubt):
    """It is history by its stamp, and never later than it came."""
    judged = time_of_text(stamp, NOW, before=before(MINUTE, MINUTE), overtaken=True)
    assert (judged.at, judged.doubt) == (at, doubt)


@pytest.mark.parametrize(
    ("stamp", "last", "after"),
    [
        (NOW - MINUTE, None, SenderStamps(newest=NOW - MINUTE, last=NOW - MINUTE, heard_at=NOW, at=NOW - MINUTE)),
        (None, None, SenderStamps(newest=None, last=None, heard_at=NOW, at=NOW)),
        (NOW + HOUR, None, SenderStamps(newest=None, last=NOW + HOUR, heard_at=NOW, at=NOW)),
        (NOW + HOUR, before(DAY, DAY), SenderStamps(newest=NOW - DAY, last=NOW + HOUR, heard_at=NOW, at=NOW)),
        (None, before(DAY, DAY), SenderStamps(newest=NOW - DAY, last=None, heard_at=NOW, at=NOW)),
        # one that runs back or stands still is what the next is held against
        (NOW - HOUR, before(MINUTE, MINUTE), SenderStamps(newest=NOW - HOUR, last=NOW - HOUR, heard_at=NOW, at=NOW)),
        (NOW - DAY, before(DAY, DAY), SenderStamps(newest=NOW - DAY, last=NOW - DAY, heard_at=NOW - DAY, at=NOW)),
        (NOW - 2 * DAY, before(MINUTE, MINUTE), before(MINUTE, MINUTE)),
        (
            NOW - 2 * DAY,
            before(-HOUR, 3 * DAY),
            SenderStamps(newest=NOW - 2 * DAY, last=NOW - 2 * DAY, heard_at=NOW, at=NOW),
        ),
    ],
)
def test_what_is_known_of_the_senders_stamps_after_a_text(stamp, last, after):
    """A stamp that was not believed is not the newest; the first arrival of one that stands still is kept; history changes nothing."""
    assert time_of_text(stamp, NOW, before=last).stamps == after


@pytest.mark.parametrize(
    ("at", "trusted", "latest"),
    [(NOW, True, NOW), (NOW - DAY, False, NOW), (NOW, False, NOW + 15 * HOUR), (NOW + DAY, True, NOW)],
)
def test_the_latest_time_that_can_be_on_record(at, trusted, latest):
    """By a clock that is trusted, now; else a zone later than the text."""
    assert latest_possible(at, NOW, trusted=trusted) == latest


@pytest.mark.parametrize(
    ("ago", "in_time"),
    [(10 * MINUTE, True), (11 * MINUTE, False), (-10 * MINUTE, True), (-11 * MINUTE, False)],
)
def test_how_long_the_same_octets_are_a_repeat(ago, in_time):
    """Ten minutes, also where the clock was set back between."""
    assert in_time_for_a_repeat(NOW - ago, NOW) is in_time


@pytest.mark.parametrize(("others", "parts", "nothing"), [(0, 1, True), (1, 1, False), (2, 3, True), (3, 3, False)])
def test_what_came_between_ends_a_repeat(others, parts, nothing):
    """Only the other parts of the same text may have come since."""
    assert nothing_came_between(others, parts) is nothing


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


@pytest.mark.parametrize(
    ("agreed_ago", "again"),
    [(timedelta(0), False), (23 * HOUR, False), (DAY, True), (-HOUR, True)],
)
def test_a_stamp_that_agrees_again_is_noted_once_a_day(agreed_ago, again):
    """Also where our clock was set back since."""
    known = ClockEvidence(agreed_at=NOW - agreed_ago)
    assert weigh_stamp(known, NOW - MINUTE, NOW, "a") == (ClockEvidence(agreed_at=NOW) if again else known)


@pytest.mark.parametrize(("offset", "network"), [(3 * HOUR, NOW + 3 * HOUR), (-HOUR, NOW - HOUR), (None, None)])
def test_our_clock_put_right(offset, network):
    """By what it is off, where that is known."""
    assert ClockStanding(offset=offset).network_time(NOW) == network
