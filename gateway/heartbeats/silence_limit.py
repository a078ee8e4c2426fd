"""A controller's rhythm → how long it may be silent (`silence_after = "auto"`), and what another limit would cost.

The limit is the least number of periods, and a tolerance, for which a box that is well is called silent at most once in two years.
Where it can be asked it is asked first, twice, and is called silent only if both ways failed each time; so one period is mostly
enough, and a daily box is held to 25 hours (EN 50136-1 SP2; from memory). It is asked at most once a fortnight in vain.

A limit below a day is believed once the record spans three days: an afternoon's trying of floats is no rhythm. Nothing longer than
32 days is taken (SP1; from memory), unless the box itself texts more seldom. Before the second interval nothing is learnt: 26 hours.
"""

import math
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from gateway.heartbeats.rhythm import (
    DAY_S,
    FALSE_ALARMS_A_YEAR,
    PRIOR_PERIODS,
    SAME_OCCASION,
    TOLERANCE,
    Rhythm,
    learn_rhythm,
)

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
DAILY = REPORTING_TIMES["SP2"]
MOST = REPORTING_TIMES["SP1"]
UNLEARNT = timedelta(hours=26)
ASKED_A_YEAR = 26.0
TIMES_ASKED = 2
BELIEVED_FROM_S = 3 * DAY_S
FULL_RECORD = 150
"""So many texts are as good as three days: a box that texts each quarter of an hour fills its record sooner."""


def learnt_limit(times: Sequence[datetime], *, asks: bool = False) -> timedelta:
    """The limit from the box's own texts; `times` in any order."""
    rhythm = learn_rhythm(tuple(times))
    return UNLEARNT if rhythm is None else silence_limit(rhythm, asks=asks)


def silence_limit(rhythm: Rhythm, *, asks: bool) -> timedelta:
    """The least number of periods that keeps to at most one false alarm in two years; `asks`: it can be asked."""
    bearable = FALSE_ALARMS_A_YEAR
    if asks:
        bearable = min(bearable / _unanswered(rhythm), ASKED_A_YEAR)
    limit = _passed(rhythm, rhythm.periods_until(bearable), asks=asks)
    if sum(rhythm.intervals) < BELIEVED_FROM_S and len(rhythm.intervals) < FULL_RECORD:
        limit = max(limit, UNLEARNT)
    return min(limit, max(MOST, _passed(rhythm, 1, asks=False)))


def false_alarms_a_year(rhythm: Rhythm, limit: timedelta, *, asks: bool) -> float:
    """How often in a year a box of that rhythm is called silent and is well; a text that is only late within its tolerance counts as lost."""
    rows = rhythm.rows_a_year(max(1, math.floor(limit.total_seconds() / rhythm.period_s)))
    return rows * (_unanswered(rhythm) if asks else 1.0)


def _passed(rhythm: Rhythm, periods: int, *, asks: bool) -> timedelta:
    """So many periods and the tolerance; a punctual daily box that can be asked: to the very 25 hours."""
    limit = timedelta(seconds=rhythm.limit_s(periods))
    daily = timedelta(seconds=rhythm.period_s) + SAME_OCCASION <= DAILY < limit
    punctual = rhythm.tolerance_s <= rhythm.period_s * TOLERANCE
    return DAILY if asks and periods == 1 and daily and punctual else limit


def _unanswered(rhythm: Rhythm) -> float:
    """Each time it is asked, that text or its answer is lost; a standard error oftener than it seems, for
    what comes between hides some losses."""
    lost = min(1.0, rhythm.loss + math.sqrt(rhythm.loss * (1 - rhythm.loss) / (PRIOR_PERIODS + sum(rhythm.dues))))
    return float(1 - (1 - lost) ** 2) ** TIMES_ASKED
