"""When a controller is silent, when it is asked, and what its own rhythm says."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.heartbeats import judge, why_silent
from gateway.settings.controller_tables import Ask

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
ASKS = Ask(text="REPORT", before_silence=HOUR)


def verdict(heard_ago, *, limit=26 * HOUR, asked_ago=None, ask=None, flagged=False):
    return judge(
        limit=limit,
        last_heard=None if heard_ago is None else NOW - heard_ago,
        watched_since=NOW - 30 * HOUR,
        asked_at=None if asked_ago is None else NOW - asked_ago,
        flagged=flagged,
        ask=ask or Ask(),
        now=NOW,
    )


@pytest.mark.parametrize(
    ("heard_ago", "state"),
    [
        (HOUR, "heard"),
        (25.9 * HOUR, "heard"),
        (26 * HOUR, "heard"),
        (26.001 * HOUR, "silent"),
        (40 * HOUR, "silent"),
        (None, "silent"),
    ],
)
def test_silence(heard_ago, state):
    """Counted from the last text, or from when the gateway began to watch; at the very deadline heard wins."""
    assert verdict(heard_ago).state == state


def test_off_is_never_silent():
    """With no limit there is no verdict and nothing due."""
    assert (
        verdict(500 * HOUR, limit=None) == verdict(500 * HOUR, limit=None)
        and verdict(500 * HOUR, limit=None).state == "heard"
    )


@pytest.mark.parametrize(
    ("heard_ago", "asked_ago", "asks"),
    [
        (24 * HOUR, None, False),
        (25 * HOUR, None, True),
        (25.5 * HOUR, 0.4 * HOUR, False),
        (25.5 * HOUR, 30 * HOUR, True),
    ],
)
def test_it_is_asked_once_before_it_counts_as_silent(heard_ago, asked_ago, asks):
    """`before_silence` ahead of the deadline, and only once an approach."""
    assert verdict(heard_ago, asked_ago=asked_ago, ask=ASKS).ask_now is asks


def test_a_limit_shorter_than_the_asking_asks_half_way():
    """An hour ahead of a two-second limit would be always; half way it is."""
    short = timedelta(seconds=2)
    assert not verdict(timedelta(seconds=0.5), limit=short, ask=ASKS).ask_now
    assert verdict(timedelta(seconds=1.5), limit=short, ask=ASKS).ask_now


def test_where_it_is_asked_twice_the_second_time_is_half_way_to_the_end():
    """An hour ahead, and half an hour if nothing came; not a third time."""
    asked = [
        judge(
            limit=26 * HOUR,
            last_heard=NOW - heard_ago * HOUR,
            watched_since=NOW - 30 * HOUR,
            asked_at=NOW - asked_ago * HOUR,
            flagged=False,
            ask=ASKS,
            now=NOW,
            times_asked=2,
        ).ask_now
        for heard_ago, asked_ago in ((24.9, 30), (25, 30), (25.4, 0.4), (25.5, 0.5), (25.9, 0.4))
    ]
    assert asked == [False, True, False, True, False]


@pytest.mark.parametrize(
    ("known", "why"),
    [
        ({"power_lost": True}, "battery"),
        ({"our_signal": False}, "ours"),
        ({"volts": [(NOW - 72 * HOUR, 12.6), (NOW - 48 * HOUR, 12.3), (NOW - 24 * HOUR, 11.9)]}, "battery"),
        ({"volts": [(NOW - 72 * HOUR, 12.6), (NOW - 48 * HOUR, 12.6), (NOW - 24 * HOUR, 12.6)]}, None),
        ({}, None),
    ],
)
def test_silence_explained(known, why):
    """Falling volts or lost power: the battery; no network here: our side; else it is not guessed."""
    given = {"power_lost": False, "volts": (), "others_silent": 0, "our_signal": True, "since": NOW, **known}
    assert why_silent(**given).kind == (why or "unknown")
