"""A float that switches to and fro becomes one episode, until it has been quiet."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.alarms.float_chatter import count_switch, is_over, over_at
from gateway.facts.states.controllers_and_tanks import ChatterEpisode
from tests.kept import kept

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


@pytest.mark.parametrize(
    ("gaps_s", "verdict"),
    [
        ([0], "fine"),
        ([0, 10], "fine"),
        ([0, 10, 10], "starts"),
        ([0, 40, 40], "fine"),
        ([0, *[200] * 5], "starts"),
        ([0, 5, 5, 5], "goes-on"),
    ],
)
def test_chatter(gaps_s, verdict):
    """Three changes in a minute, or six in half an hour (waves), start an episode; it ends after ten quiet minutes."""
    episode, at, judged = ChatterEpisode(), NOW, "fine"
    for gap in gaps_s:
        at += timedelta(seconds=gap)
        episode, judged = count_switch(episode, at)
    assert judged == verdict
    if judged != "fine":
        assert not is_over(episode, at + 9 * MINUTE) and is_over(episode, at + 10 * MINUTE)
    assert kept(episode) == episode


def test_texts_that_overtake_each_other_are_no_chatter():
    """Changes hours apart that are heard in any order are counted by when they happened."""
    episode, judged = ChatterEpisode(), "fine"
    for hours in (6, 0, 3, 9):
        episode, judged = count_switch(episode, NOW + timedelta(hours=hours))
    assert judged == "fine" and episode.changes == (NOW + timedelta(hours=9),)


def test_overtaking_texts_of_one_minute_are_chatter():
    """Three changes within a minute are chatter in whatever order they are heard."""
    episode, judged = ChatterEpisode(), "fine"
    for seconds in (40, 0, 20):
        episode, judged = count_switch(episode, NOW + timedelta(seconds=seconds))
    assert judged == "starts"


def test_a_clock_set_back_silences_no_float():
    """Row 31: an episode noted ten years ahead is forgotten, so that the float is told of again."""
    episode = ChatterEpisode()
    for _ in range(3):
        episode, _ = count_switch(episode, NOW + timedelta(days=3650))
    assert episode.restless and is_over(episode, NOW)


def test_nothing_heard_is_quiet():
    """No change, nothing due."""
    assert over_at(ChatterEpisode()) is None and is_over(ChatterEpisode(), NOW)
