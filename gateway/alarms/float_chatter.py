"""Switches of one float → fine, or chatter until it has been quiet.

Starts at three changes within a minute (the published measure for a chattering alarm, ANSI/ISA-18.2 practice), or, for waves
that lap slowly, at six within half an hour (common practice: one to and fro each ten minutes is no use of water). It is over
after ten quiet minutes.
"""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Literal

from gateway.facts.states.controllers_and_tanks import ChatterEpisode

FAST_CHANGES, FAST_WITHIN = 3, timedelta(minutes=1)
SLOW_CHANGES, SLOW_WITHIN = 6, timedelta(minutes=30)
QUIET_AFTER = timedelta(minutes=10)
MOST_KEPT = 4 * SLOW_CHANGES
ChatterVerdict = Literal["fine", "starts", "goes-on"]


def count_switch(episode: ChatterEpisode, at: datetime) -> tuple[ChatterEpisode, ChatterVerdict]:
    """One more change of the float; `at` may be earlier than the last, for texts overtake each other."""
    newest = max(at, *episode.changes) if episode.changes else at
    changes = tuple(sorted(change for change in (*episode.changes, at) if newest - change < SLOW_WITHIN))[-MOST_KEPT:]
    if episode.restless:
        return replace(episode, changes=changes), "goes-on"
    starts = len(changes) >= SLOW_CHANGES or _is_fast(changes)
    return ChatterEpisode(changes=changes, restless=starts), "starts" if starts else "fine"


def is_over(episode: ChatterEpisode, now: datetime) -> bool:
    """Whether the episode can be forgotten: it has been quiet long enough, or it was noted by a clock set back since."""
    over = over_at(episode)
    return over is None or now >= over or max(episode.changes) - now > SLOW_WITHIN


def over_at(episode: ChatterEpisode) -> datetime | None:
    """When it can be over."""
    if not episode.changes:
        return None
    return max(episode.changes) + (QUIET_AFTER if episode.restless else SLOW_WITHIN)


def _is_fast(changes: tuple[datetime, ...]) -> bool:
    runs = zip(changes, changes[FAST_CHANGES - 1 :], strict=False)  # the second is shorter by design
    return any(last - first <= FAST_WITHIN for first, last in runs)
