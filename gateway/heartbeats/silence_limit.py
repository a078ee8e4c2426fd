"""When a controller was heard → how long it may be silent (`silence_after = "auto"`).

In: its times of arrival, aware UTC. Out: the 95 % quantile of its intervals and a quarter more, at least 25 hours (the reporting
time of a daily supervised single path, EN 50136-1 SP2; from memory) and at most 32 days (SP1; from memory).

Of each day (UTC) on which it was heard only the longest interval that ended on it counts: a box that sends twenty texts on a wet
day and one on a dry day is measured by its quiet days. The quantile rounds down, so that one long outage teaches nothing. With
fewer than eight such days nothing is learnt yet and the limit is 26 hours.
"""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from itertools import pairwise

QUANTILE = 0.95
MARGIN = 1.25
REPORTING_TIMES: Mapping[str, timedelta] = {
    "SP1": timedelta(days=32),
    "SP2": timedelta(hours=25),
    "SP3": timedelta(minutes=30),
    "SP4": timedelta(minutes=3),
    "SP5": timedelta(seconds=90),
    "SP6": timedelta(seconds=20),
    "DP1": timedelta(hours=25),
    "DP2": timedelta(minutes=30),
    "DP3": timedelta(minutes=3),
    "DP4": timedelta(seconds=90),
}
"""Within which an alarm transmission path of that category must be found to have failed (EN 50136-1; SP6 and DP4 seen, the rest from
memory). Two texts a day over one network is a single path: SP2 at best."""
LEAST = REPORTING_TIMES["SP2"]
MOST = REPORTING_TIMES["SP1"]
UNLEARNT = timedelta(hours=26)
DAYS_NEEDED = 8
SAME_OCCASION = timedelta(minutes=10)
"""Texts closer together than this are one sign of life (a switch and its reading)."""


def learnt_limit(times: Sequence[datetime]) -> timedelta:
    """The limit from the box's own rhythm; `times` in any order."""
    gaps = sorted(_longest_a_day(sorted(times)).values())
    if len(gaps) < DAYS_NEEDED:
        return UNLEARNT
    return min(max(gaps[int(QUANTILE * (len(gaps) - 1))] * MARGIN, LEAST), MOST)


def _longest_a_day(times: Sequence[datetime]) -> dict[date, timedelta]:
    longest: dict[date, timedelta] = {}
    for earlier, later in pairwise(times):
        gap, day = later - earlier, later.date()
        if gap > SAME_OCCASION:
            longest[day] = max(gap, longest.get(day, gap))
    return longest
