"""Heard, silent or never heard; asked in time and once; and always the next moment to look."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gateway.heartbeats import judge
from gateway.heartbeats.controller_verdict import JUST_PAST
from gateway.settings.controller_tables import Ask

T0 = datetime(2026, 6, 1, 6, 0, tzinfo=UTC)
H = timedelta(hours=1)
LIMIT = 26 * H
NO_ASK = Ask()
ASK = Ask(text="STATUS?")
EVERY = Ask(text="STATUS?", every="7d")


def verdict(now, *, limit=LIMIT, heard=T0, watched=T0 - 100 * H, asked=None, flagged=False, ask=NO_ASK):
    return judge(
        limit=limit, last_heard=heard, watched_since=watched, asked_at=asked, flagged=flagged, ask=ask, now=now
    )


@pytest.mark.parametrize(
    ("now", "heard", "state", "since"),
    [
        (T0 + H, T0, "heard", None),
        (T0 + LIMIT, T0, "heard", None),
        (T0 + LIMIT + JUST_PAST, T0, "silent", T0),
        (T0 + LIMIT + JUST_PAST, T0 + LIMIT, "heard", None),
        (T0 + 400 * H, T0, "silent", T0),
        (T0 - 80 * H, None, "never-heard", None),
        (T0, None, "silent", T0 - 100 * H),
    ],
)
def test_state(now, heard, state, since):
    """Silence is what lies past the limit, counted from the last text, or from when the gateway began to watch."""
    found = verdict(now, heard=heard)
    assert (found.state, found.silent_since) == (state, since)


def test_silence_that_is_not_watched_is_never_told():
    """`silence_after = "off"`: no verdict and nothing due, however long; `ask.every` goes on."""
    assert verdict(T0 + 9999 * H, limit=None).state == "heard"
    assert verdict(T0 + 9999 * H, limit=None).due is None
    assert verdict(T0 + 9999 * H, limit=None, ask=EVERY).ask_now
    assert verdict(T0, limit=None, watched=T0, ask=EVERY).due == T0 + 168 * H


@pytest.mark.parametrize(
    ("now", "asked", "flagged", "ask_now", "due"),
    [
        (T0 + 24 * H, None, False, False, T0 + 25 * H),
        (T0 + 25 * H, None, False, True, T0 + LIMIT + JUST_PAST),
        (T0 + 25 * H, T0 - 3 * H, False, True, T0 + LIMIT + JUST_PAST),
        (T0 + 25 * H, T0 + 25 * H, False, False, T0 + LIMIT + JUST_PAST),
        (T0 + 27 * H, T0 + 25 * H, False, False, None),
        (T0 + 27 * H, None, False, True, None),
        (T0 + 27 * H, None, True, False, None),
        (T0 + 25 * H, T0 + 90 * H, False, True, T0 + LIMIT + JUST_PAST),
    ],
)
def test_asked_once_on_the_way_to_a_silence(now, asked, flagged, ask_now, due):
    """An hour ahead it is asked, once: not again after a restart, once if the gateway was down over it, never for what was flagged."""
    found = verdict(now, asked=asked, flagged=flagged, ask=ASK)
    assert (found.ask_now, found.due) == (ask_now, due)


@pytest.mark.parametrize("limit_h", [0.5, 1])
def test_a_limit_no_longer_than_the_time_ahead_asks_half_way(limit_h):
    """`before_silence` of an hour under a limit of half an hour: asked at the half."""
    limit = limit_h * H
    assert verdict(T0, limit=limit, ask=ASK).due == T0 + limit / 2
    assert verdict(T0 + limit / 2, limit=limit, ask=ASK).ask_now


@pytest.mark.parametrize(
    ("now", "asked", "ask_now"),
    [
        (T0, T0 - 167 * H, False),
        (T0, T0 - 168 * H, True),
        (T0, None, False),
        (T0 + 68 * H, None, True),
    ],
)
def test_asked_on_its_own_rhythm(now, asked, ask_now):
    """`every` counts from the last asking, or from when the gateway began to watch; a flag does not end it."""
    for flagged in (False, True):
        assert verdict(now, asked=asked, ask=EVERY, flagged=flagged, limit=9000 * H).ask_now is ask_now
    assert verdict(T0 + 300 * H, asked=T0 + 100 * H, ask=EVERY, flagged=True).ask_now


def test_what_has_no_text_is_not_asked():
    """A text is never guessed: without one nothing is asked, whatever else is set."""
    assert not verdict(T0 + 900 * H, ask=Ask(every="1d")).ask_now


@settings(deadline=None)
@given(
    limit_s=st.integers(60, 10**6),
    ahead_s=st.integers(0, 10**6),
    every_s=st.none() | st.integers(20_000, 10**6),
    heard_s=st.lists(st.integers(0, 3 * 10**6), max_size=6),
)
def test_following_the_due_times_misses_nothing(limit_s, ahead_s, every_s, heard_s):
    """Waking only when it is due: each silence is flagged once, just past its deadline, and no moment is due for ever."""
    limit = timedelta(seconds=limit_s)
    ask = Ask(
        text="?", before_silence=timedelta(seconds=ahead_s), every=timedelta(seconds=every_s) if every_s else None
    )
    texts = sorted({T0 + timedelta(seconds=s) for s in heard_s})
    expected = [
        one for one, after in zip([T0, *texts], [*texts, None], strict=True) if not after or after > one + limit
    ]
    assert _run(limit, ask, texts) == expected


def _run(limit, ask, texts):
    """A gateway that looks at due times and at texts alone, until the last silence is flagged."""
    now, asked, flagged, heard, silences, approaches = T0, None, False, None, [], {}
    pending = list(texts)
    for _ in range(100_000):
        found = verdict(now, limit=limit, heard=heard, watched=T0, asked=asked, flagged=flagged, ask=ask)
        if found.ask_now:
            assert asked is None or asked < now
            asked = now
            approaches[heard] = approaches.get(heard, 0) + 1
            continue
        if found.state == "silent" and not flagged:
            assert now == (heard or T0) + limit + JUST_PAST
            silences.append(heard or T0)
            flagged = True
        if flagged and not pending:
            break
        following = [at for at in (found.due, pending[0] if pending else None) if at is not None]
        assert min(following) >= now
        now = min(following)
        if pending and now == pending[0]:
            heard, flagged = pending.pop(0), False
    if ask.every is None:
        assert all(count == 1 for count in approaches.values())
    return silences
