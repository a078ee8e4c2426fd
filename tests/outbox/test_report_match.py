"""Rows 56 and 79: a delivery report counts for the message it speaks of, once, or for none."""

import itertools
import random
from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts import Report
from gateway.outbox import match_report
from gateway.ports import SentSegment

NOW = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)


def sent(message, at, *, outcome="", stamp=None, segment=1):
    return SentSegment(message=message, segment=segment, at=at, outcome=outcome, stamp=stamp)


def report(stamp, *, discharged=None, outcome="delivered"):
    return Report(reference=7, number="+61491570156", outcome=outcome, status=0, stamp=stamp, discharged=discharged)


def matched(said, *segments, trusted=True):
    segment = match_report(said, segments, trusted=trusted)
    return segment.message if segment is not None else None


def test_row_56_a_repeated_report_is_not_the_next_messages():
    """The reference comes again; the first message's report comes twice: the second one still waits for its own."""
    first, second = sent(1, NOW, outcome="delivered", stamp=NOW), sent(2, NOW + timedelta(hours=2))
    assert matched(report(NOW), first, second) is None
    assert matched(report(NOW), first, second, trusted=False) is None
    assert matched(report(NOW + timedelta(hours=2)), first, second) == 2


def test_row_56_trying_and_then_delivered_are_of_one_segment():
    """By their stamp."""
    assert matched(report(NOW), sent(1, NOW, outcome="trying", stamp=NOW), sent(2, NOW + timedelta(seconds=5))) == 1


def test_row_56_a_late_report_is_the_older_messages():
    """Neither was reported yet: the stamp says which."""
    first, second = sent(1, NOW), sent(2, NOW + timedelta(hours=6))
    late = report(NOW - timedelta(seconds=4), discharged=NOW + timedelta(hours=8))
    assert matched(late, first, second) == 1


def test_row_56_a_report_from_before_is_no_messages():
    """Its times lie before the message was handed over: it is of one that is no longer known."""
    old = NOW - timedelta(hours=3, minutes=11)
    assert matched(report(old, discharged=old), sent(1, NOW)) is None


def test_row_56_a_zone_that_is_off_costs_no_report():
    """The network stamps an hour early."""
    early = NOW - timedelta(hours=1, seconds=3)
    assert matched(report(early, discharged=early), sent(1, NOW)) == 1


def test_row_79_one_reference_for_all_is_matched_by_time_or_not_at_all(seed, trials):
    """Messages of one number under one reference, reports in any order, some twice, some never: none ever counts for another."""
    rng = random.Random(seed)
    for _ in range(trials(200)):
        at, segments = NOW, []
        for message in range(1, rng.randrange(2, 6)):
            at += timedelta(seconds=rng.choice([2, 20, 90, 900, 20_000]))
            segments.append(sent(message, at))
        truth = {segment.message: segment.at - timedelta(seconds=rng.uniform(0, 3)) for segment in segments}
        reports = [report(truth[message]) for message in truth if rng.random() < 0.8]
        reports += rng.choices(reports, k=min(2, len(reports)))
        rng.shuffle(reports)
        for said in reports:
            segment = match_report(said, segments, trusted=True)
            if segment is None:
                continue
            assert truth[segment.message] == said.stamp
            place = segments.index(segment)
            segments[place] = sent(segment.message, segment.at, outcome="delivered", stamp=said.stamp)


def test_row_56_every_order_of_two_messages_and_their_reports():
    """Twice each, in every order."""
    first, second = NOW, NOW + timedelta(minutes=40)
    for order in itertools.permutations([first, first, second, second]):
        segments = [sent(1, first), sent(2, second)]
        for stamp in order:
            segment = match_report(report(stamp), segments, trusted=True)
            if segment is not None:
                segments[segments.index(segment)] = sent(segment.message, segment.at, outcome="delivered", stamp=stamp)
        assert [segment.stamp for segment in segments] == [first, second]


HOUR, MINUTE, SECOND = timedelta(hours=1), timedelta(minutes=1), timedelta(seconds=1)


@pytest.mark.parametrize(
    ("stamp", "discharged", "meant"),
    [
        (None, None, True),  # the network sent zeros
        (timedelta(0), None, True),
        (5 * HOUR, None, True),
        (-15 * MINUTE, None, True),
        (-16 * MINUTE, None, False),
        (-16 * MINUTE, MINUTE, True),
        (MINUTE, -16 * MINUTE, True),
        (-33 * MINUTE, None, True),
        (-27 * MINUTE, None, True),
        (-34 * MINUTE, None, False),
        (-34 * MINUTE, -31 * MINUTE, True),
        (-14 * HOUR - 3 * MINUTE, None, True),
        (-14 * HOUR - 30 * MINUTE, None, False),
    ],
)
def test_the_times_that_a_message_can_have(stamp, discharged, meant):
    """From a quarter of an hour before it was handed over; and in another zone, which is off by half hours."""
    said = report(None if stamp is None else NOW + stamp, discharged=None if discharged is None else NOW + discharged)
    assert matched(said, sent(1, NOW)) == (1 if meant else None)
    assert matched(said, sent(1, NOW), trusted=False) == 1


@pytest.mark.parametrize(
    ("stamp", "second_at", "trusted", "meant"),
    [
        (timedelta(0), 30 * SECOND, True, 1),
        (timedelta(0), 29 * SECOND, True, None),
        (30 * SECOND, 30 * SECOND, True, 2),
        (20 * SECOND, 60 * SECOND, True, None),
        (timedelta(0), 30 * SECOND, False, None),
        (None, HOUR, True, None),
        (15 * MINUTE, 45 * MINUTE, True, 1),
        (16 * MINUTE, 46 * MINUTE, True, None),
        (-HOUR, HOUR, True, None),  # a zone off: either may be meant
    ],
)
def test_which_of_two_messages_is_clearly_nearer(stamp, second_at, trusted, meant):
    """By half a minute, and within a quarter of an hour; else it counts for none."""
    said = report(None if stamp is None else NOW + stamp)
    assert matched(said, sent(1, NOW), sent(2, NOW + second_at), trusted=trusted) == meant


def test_which_segments_still_wait_for_a_report():
    """One that has its own stamp, or its end, is not meant by a new one; of one message the first that waits is."""
    new = report(NOW)
    assert matched(new, sent(1, NOW, outcome="trying", stamp=NOW - SECOND)) is None
    assert matched(new, sent(1, NOW, outcome="delivered")) is None
    assert matched(new, sent(1, NOW, outcome="trying")) == 1
    first, second = sent(1, NOW, outcome="delivered", stamp=NOW), sent(1, NOW, stamp=NOW, segment=2)
    assert match_report(new, [first, second], trusted=True) == second
    both = [sent(1, NOW - 2 * SECOND), sent(1, NOW, segment=2)]
    assert match_report(new, both, trusted=True) == both[0]
    assert match_report(new, [*both, sent(2, NOW + HOUR)], trusted=True) == both[0]
    assert match_report(new, [sent(2, NOW + HOUR), *both], trusted=True) == both[0]
