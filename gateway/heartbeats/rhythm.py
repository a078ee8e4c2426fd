"""When a controller was heard → how long it may be silent (`silence_after = "auto"`).

The limit is the 95 % quantile of its past intervals and a quarter more, at least 25 hours: the reporting time of a daily
supervised single path (EN 50136-1 SP2; from memory) and at most 32 days (SP1; from memory). With fewer than eight intervals
nothing is learnt yet and the limit is 26 hours.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise

QUANTILE = 0.95
MARGIN = 1.25
LEAST = timedelta(hours=25)
MOST = timedelta(days=32)
UNLEARNT = timedelta(hours=26)
INTERVALS_NEEDED = 8
SAME_OCCASION = timedelta(minutes=10)
"""Texts closer together than this are one sign of life (a switch and its reading)."""


def learnt_limit(times: Sequence[datetime]) -> timedelta:
    """The limit from the box's own rhythm; `times` oldest first."""
    gaps = sorted(later - earlier for earlier, later in pairwise(times) if later - earlier > SAME_OCCASION)
    if len(gaps) < INTERVALS_NEEDED:
        return UNLEARNT
    quantile = gaps[min(len(gaps) - 1, int(QUANTILE * len(gaps)))]
    return min(max(quantile * MARGIN, LEAST), MOST)
