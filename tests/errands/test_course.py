"""An errand's course and its code, as values: what comes next, and what confirms."""

from datetime import UTC, datetime, time, timedelta

import pytest

from gateway.errands import confirms, drift, new_code, next_step
from gateway.facts.states.errands_and_tests import ErrandCode, ErrandUnderWay

NOON = datetime(2026, 7, 6, 12, 0, tzinfo=UTC)
MIN, SEC = timedelta(minutes=1), timedelta(seconds=1)


@pytest.mark.parametrize(
    ("more", "outbox", "after", "course", "due"),
    [
        # it has not left
        ({}, "waiting", 0 * MIN, "wait", 5 * MIN),
        ({}, "waiting", 5 * MIN - SEC, "wait", 5 * MIN),
        ({}, "waiting", 5 * MIN, "take-back", None),
        ({}, "waiting", -60 * MIN, "wait", -55 * MIN),  # the clock was set back since
        ({}, "sending", 60 * MIN, "wait", None),
        ({}, "failed", 0 * MIN, "refused", None),
        ({}, None, 0 * MIN, "refused", None),
        ({"own": True}, "waiting", 60 * MIN, "wait", None),
        ({"own": True}, "failed", 60 * MIN, "refused", None),
        # it left a minute after noon, its answer has ten minutes
        ({"sent_at": NOON + MIN}, "sent", 2 * MIN, "wait", 11 * MIN),
        ({"sent_at": NOON + MIN}, "sent", 11 * MIN - SEC, "wait", 11 * MIN),
        ({"sent_at": NOON + MIN}, "sent", 0 * MIN, "wait", 10 * MIN),
        ({"sent_at": NOON + MIN}, "sent", 11 * MIN, "again", None),
        ({"sent_at": NOON + MIN, "tries": 2}, "sent", 11 * MIN, "no-answer", None),
        ({"sent_at": NOON + MIN, "other": "HELLO"}, "sent", 11 * MIN, "unexpected", None),
        ({"sent_at": NOON + MIN, "other": "HELLO"}, "sent", 10 * MIN, "wait", 11 * MIN),
    ],
)
def test_what_comes_next(more, outbox, after, course, due):
    """So long after it was put into the outbox, with two tries."""
    under_way = ErrandUnderWay(
        **{"order": 1, "errand": "status", "by": "wren", "own": False, "put_at": NOON, "message": 1, **more}
    )
    step = next_step(under_way, outbox, within=10 * MIN, tries=2, expects=True, now=NOON + after)
    assert (step.course, step.due) == (course, None if due is None else NOON + due)


def test_where_no_answer_is_expected_it_ends_as_it_leaves():
    """There is nothing to wait for."""
    left = ErrandUnderWay(order=1, errand="x", by=None, own=False, put_at=NOON, message=1, sent_at=NOON)
    assert next_step(left, "sent", within=10 * MIN, tries=2, expects=False, now=NOON).course == "no-answer"


@pytest.mark.parametrize(
    ("used", "says", "made_ago", "took", "confirmed"),
    [
        (False, "0417", 5 * MIN - SEC, 5 * MIN - SEC, True),
        (False, "0417", 0 * MIN, 0 * MIN, True),
        (False, "0418", 0 * MIN, 0 * MIN, False),
        (True, "0417", 0 * MIN, 0 * MIN, False),
        (False, "0417", -SEC, 0 * MIN, False),
        (False, "0417", 5 * MIN, 0 * MIN, False),
        (False, "0417", 0 * MIN, 5 * MIN, False),
    ],
)
def test_what_confirms(used, says, made_ago, took, confirmed):
    """That code, once, within five minutes, by a text that was under way for less; without a code nothing does."""
    kept = ErrandCode(code="0417", controller="ridge", errand="start", made_at=NOON - made_ago, used=used)
    assert confirms(kept, says, took, NOON) is confirmed
    assert not confirms(None, says, took, NOON)


def test_a_new_code_is_never_the_one_before(monkeypatch):
    """Four digits, with noughts in front; the dice that fall alike are thrown again."""
    dice = iter([417, 417, 12, 417])
    monkeypatch.setattr("gateway.errands.codes.secrets.randbelow", lambda below: {10000: next(dice)}[below])
    assert new_code("0417") == "0012"
    assert new_code(None) == "0417"


@pytest.mark.parametrize(
    ("clock", "at", "ahead"),
    [
        (time(12, 1), 59 * SEC, MIN),
        (time(12, 0), 61 * SEC, -MIN),
        (time(0, 0), 0 * SEC, -720 * MIN),
        (time(12, 0, 30), 10 * SEC, 20 * SEC),
        (time(12, 0, 30), 40 * SEC, -10 * SEC),
    ],
)
def test_how_far_a_clock_is_off_to_the_second(clock, at, ahead):
    """One that says whole minutes is right within its minute; never more than half a day."""
    assert drift(clock, NOON + at, UTC) == ahead
