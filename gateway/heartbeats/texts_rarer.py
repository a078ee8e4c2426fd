"""A controller's rhythm → whether its texts get rarer: a cumulative sum over what came and what did not.

For each text that was due the sum takes the log of how much more probable that is for a box that loses more: a lost one adds
ln(p1/p0), one that came takes ln((1-p0)/(1-p1)) away, and it never falls below nothing (Bernoulli CUSUM, Reynolds and Stoumbos
1999). `p0` is what it usually loses, learnt from the older half of its record with a standard error on top (a hundred texts know a share no
better, and an hourly box that always loses a fifth was said to get rarer 4 times a year), at least 2 %; `p1` has the odds that 10 % has
to 2 %, so that the published pair of rates is the one for a good box. It is said at ln(periods in two years): in control such a sum
takes at least so many texts to get there, on average (Lorden 1971; from memory). Of one row of losses two count at most: a silence
is told as a silence. It is over when half of that has been worked off (some forty texts running).
"""

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.heartbeats.rhythm import PRIOR_LOST, PRIOR_PERIODS, YEAR_S, Rhythm

USUAL_LEAST = 0.02
ODDS = (0.10 / 0.90) / (0.02 / 0.98)
MOST_OF_A_ROW = 2
YEARS_BETWEEN = 2.0
OVER_AT = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class LossWatch:
    """How it stands: since when its texts are rarer, how many of how many did not come since; `usual`: the share that it lost before."""

    rarer: bool
    usual: float
    since: datetime
    lost: int
    due: int


def watch_losses(rhythm: Rhythm, usual: float | None = None, well_at: datetime | None = None) -> LossWatch:
    """`usual`: what was taken as usual when it was said; else it is learnt. `well_at`: then it was said that they come again, and what
    stayed away before speaks no more."""
    usual = usual_loss(rhythm) if usual is None else usual
    both = weights(usual)
    reached_at = math.log(max(YEARS_BETWEEN * YEAR_S / rhythm.period_s, math.e))
    total = lost = due = 0.0
    rarer, at = False, rhythm.began
    since = at
    for interval, misses, dues in zip(rhythm.intervals, rhythm.misses, rhythm.dues, strict=True):
        if total == 0:
            since, lost, due = at, 0, 0
        at += timedelta(seconds=interval)
        if well_at is not None and at <= well_at:
            continue
        lost, due = lost + misses, due + dues
        total = min(summed(total, min(misses, MOST_OF_A_ROW), 0, both), reached_at)
        rarer = rarer or total == reached_at
        total = summed(total, 0, dues - misses, both)
        rarer = rarer and total > reached_at * OVER_AT
    return LossWatch(rarer=rarer, usual=usual, since=since, lost=int(lost), due=round(due))


def summed(total: float, lost: float, came: float, both: tuple[float, float]) -> float:
    """The sum after so many texts that were lost, and came."""
    return max(0.0, total + lost * both[0] - came * both[1])


def usual_loss(rhythm: Rhythm) -> float:
    """What it lost in the older half of its record, and by how much that may be too little."""
    half = len(rhythm.intervals) // 2
    lost, due = PRIOR_LOST + sum(rhythm.misses[:half]), PRIOR_PERIODS + sum(rhythm.dues[:half])
    share = lost / due
    return max(share + math.sqrt(share * (1 - share) / due), USUAL_LEAST)


def weights(usual: float, odds: float = ODDS) -> tuple[float, float]:
    """What a lost text adds, and one that came takes away."""
    more = usual * odds / (1 - usual + usual * odds)
    return math.log(more / usual), math.log((1 - usual) / (1 - more))
