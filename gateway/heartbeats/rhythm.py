"""When a controller was heard → its period, and how often a text that was due did not come.

The model. A box is due once in each period. A text that was due stays away with the probability `loss`; after one that stayed away the
next does so with the probability `going_on` (equal to `loss` where losses are independent, more where the network is gone for a
while: Gilbert's two states). What it texts between its heartbeats (a float, a door) shortens an interval and proves nothing else. So an
interval holds as many misses as it passed periods, each and a tolerance, before the text came; and a box with no period at all is
described just as well: intervals at random fall off as misses do.

The period is the shortest of its intervals that it keeps: texts lie so far apart over more than half of its time, the longest
interval left out. Texts between heartbeats do not hide it, for any two texts are compared. It is then the median of what was matched.

Priors, each as so many periods seen before the first text:
  loss: 1 in 30 periods. The usual loss that the published rows of the cumulative sum start from is 2 % (Reynolds and Stoumbos 1999); worth
    fifty periods, two hundred texts of a box that loses a fifth were taken for a sixth; worth ten, one lucky week of an hourly box counted;
  going on: as the loss, on 10 misses: a household's few misses must be able to show that they come together;
  of its longest silence one period more counts than of the one before it: a box that was dead once and mended is no rhythm;
  of any at most 4: a night without texts is many misses in a row, and says as much of the next row as four do.

A new period (the box was set anew) is seen by its last intervals: equal ones that a box of the old rhythm which loses a third of its texts would
give once in a thousand times; or, where it is shorter, a week of intervals that keep it through eight tenths of the time. Then what was
before counts no more.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from itertools import count, pairwise
from statistics import median

SAME_OCCASION = timedelta(minutes=10)
"""Texts closer together than this are one sign of life (a switch and its reading)."""
SUMMER_TIME_S = 70 * 60.0
"""A text at a local hour comes an hour later once a year, and a few minutes late besides."""
SUMMER_TIME_FROM_S = 3 * 3600.0
TOLERANCE = 1 / 16
LOOSE_TOLERANCE = 1 / 6
"""A box that is not punctual is given more room, where it is then found silent sooner."""
KEPT_SHARE = 0.5
CLEARLY_KEPT = 0.8
SAME_PERIOD = 0.1
DAY_S = 86_400.0
YEAR_S = 365.25 * DAY_S

PRIOR_PERIODS = 30.0
PRIOR_LOST = 1.0
PRIOR_MISSES = 10.0
MOST_IN_A_ROW = 4
TAIL = 20
"""Among fewer intervals at random some seem to keep a period: such a box was called silent falsely 1.4 times a year."""
TAIL_S = 7 * DAY_S
TAIL_PERIODS = 3
IMPROBABLE = 1e-3
DYING_LOSS = 1 / 3
FALSE_ALARMS_A_YEAR = 0.5
"""A silence that was none is borne once in two years."""
FEWEST_INTERVALS = 2
REFINED = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Rhythm:
    """What a record of texts says. `intervals`: seconds between signs of life, oldest first; `began`: the first of them.

    `misses`: of each interval how many texts did not come, as far as it is counted; `dues`: for how many periods it counts.
    """

    period_s: float
    tolerance_s: float
    began: datetime
    intervals: tuple[float, ...]
    misses: tuple[int, ...]
    dues: tuple[float, ...]

    @property
    def rows(self) -> int:
        """How often texts did not come, one or several in a row."""
        return sum(misses > 0 for misses in self.misses)

    @property
    def loss(self) -> float:
        """The share of due texts that do not come; with the prior."""
        return (PRIOR_LOST + sum(self.misses)) / (PRIOR_PERIODS + sum(self.dues))

    def misses_in(self, interval_s: float) -> int:
        """How many periods, each and the tolerance, ended in vain."""
        return _misses_in(interval_s, self.period_s, self.tolerance_s)

    def limit_s(self, periods: int) -> float:
        """When so many texts that were due have not come."""
        return periods * self.period_s + self.tolerance_s

    def periods_until(self, a_year: float) -> int:
        """The least number of texts in a row that stay away at most so often in a year."""
        return next(length for length in count(1) if self.rows_a_year(length) <= a_year)

    def rows_a_year(self, length: int) -> float:
        """How often in a year so many in a row do not come: the first by the share of rows, each further one by what is known of going on.

        The expectation of the product, not the product of expectations: where little is known, long rows are more probable.
        """
        lost = sum(self.misses)
        a_year = YEAR_S / self.period_s * (PRIOR_LOST + self.rows) / (PRIOR_PERIODS + sum(self.dues))
        went_on = PRIOR_MISSES * self.loss + lost - self.rows
        known = PRIOR_MISSES + lost
        for further in range(length - 1):
            a_year *= (went_on + further) / (known + further)
        return a_year


@lru_cache(maxsize=32)
def learn_rhythm(times: tuple[datetime, ...]) -> Rhythm | None:
    """The rhythm of times in any order; None where fewer than two intervals are known."""
    signs = _signs_of_life(times)
    if len(signs) <= FEWEST_INTERVALS:
        return None
    seconds = [(sign - signs[0]).total_seconds() for sign in signs]
    rhythm = _rhythm(seconds, signs[0])
    shorter = _shorter_by_now(seconds, signs[0], rhythm.period_s)
    return _longer_by_now(shorter or rhythm, signs)


def _signs_of_life(times: Sequence[datetime]) -> list[datetime]:
    signs: list[datetime] = []
    for at in sorted(times):
        if not signs or at - signs[-1] > SAME_OCCASION:
            signs.append(at)
    return signs


def _rhythm(seconds: Sequence[float], zero: datetime) -> Rhythm:
    """By the tolerance that finds it silent the sooner."""
    intervals = tuple(later - earlier for earlier, later in pairwise(seconds))
    began = zero + timedelta(seconds=seconds[0])
    both = (
        _counted(_period(seconds, intervals, KEPT_SHARE, tolerance) or max(intervals), tolerance, intervals, began)
        for tolerance in (TOLERANCE, LOOSE_TOLERANCE)
    )
    return min(both, key=lambda rhythm: rhythm.limit_s(rhythm.periods_until(FALSE_ALARMS_A_YEAR)))


def _counted(period_s: float, tolerance: float, intervals: tuple[float, ...], began: datetime) -> Rhythm:
    """The rhythm of that period: what was due, and what of it did not come."""
    within = _tolerance_s(period_s, tolerance)
    missed = [_misses_in(interval, period_s, within) for interval in intervals]
    longest_but_one = sorted(missed)[-2]
    misses = tuple(min(vain, longest_but_one + 1, MOST_IN_A_ROW) for vain in missed)
    over = (min(interval / period_s - vain, 1.0) for interval, vain in zip(intervals, missed, strict=True))
    return Rhythm(
        period_s=period_s,
        tolerance_s=within,
        began=began,
        intervals=intervals,
        misses=misses,
        dues=tuple(map(sum, zip(misses, over, strict=True))),
    )


def _misses_in(interval_s: float, period_s: float, tolerance_s: float) -> int:
    return max(0, -int(-(interval_s - tolerance_s) // period_s) - 1)


def _period(seconds: Sequence[float], intervals: Sequence[float], share: float, tolerance: float) -> float | None:
    """The shortest interval that is kept over that share of the time; None, if none is."""
    without_longest = sum(intervals) - max(intervals)
    for candidate in _candidates(intervals):
        most = len(intervals) * candidate * (1 + tolerance)
        if most < share * without_longest:
            continue
        matched, covered = _matches(seconds, candidate, _tolerance_s(candidate, tolerance))
        if matched and covered >= share * max(without_longest, candidate):
            # the first that fits is a little short: those near the middle of its matches are the period's
            for _ in range(REFINED):
                period = median(matched)
                matched = _matches(seconds, period, _tolerance_s(period, tolerance))[0] or [period]
            return median(matched)
    return None


def _tolerance_s(period_s: float, share: float) -> float:
    """How late a text may be and still be that of its period."""
    least = SUMMER_TIME_S if period_s >= SUMMER_TIME_FROM_S else SAME_OCCASION.total_seconds()
    return max(period_s * share, least)


def _candidates(intervals: Sequence[float]) -> Iterator[float]:
    """The intervals, shortest first, of those nearly alike only one."""
    last = 0.0
    for interval in sorted(intervals):
        if interval > last * (1 + TOLERANCE):
            last = interval
            yield interval


def _matches(seconds: Sequence[float], lag_s: float, within_s: float) -> tuple[list[float], float]:
    """How far apart those texts are that are about so far apart, and how much of the time lies between such pairs."""
    matched: list[float] = []
    covered = until = 0.0
    place, end = 0, len(seconds)
    for earlier in seconds:
        due = earlier + lag_s
        while place < end and seconds[place] < due:
            place += 1
        near = seconds[place] - due if place < end else within_s + 1
        if due - seconds[place - 1] < near and seconds[place - 1] > earlier:
            near = seconds[place - 1] - due
        if abs(near) <= within_s:
            matched.append(lag_s + near)
            later = due + near
            if later > until:
                covered += later - max(earlier, until)
                until = later
    return matched, covered


def _shorter_by_now(seconds: Sequence[float], zero: datetime, period_s: float) -> Rhythm | None:
    """The rhythm of its last texts, where they clearly keep a shorter period than the whole."""
    tail = TAIL + 1
    while tail < len(seconds) and seconds[-1] - seconds[-tail] < max(TAIL_S, TAIL_PERIODS * period_s):
        tail += 1
    found: Rhythm | None = None
    while tail < len(seconds):
        latest = seconds[-tail:]
        intervals = tuple(later - earlier for earlier, later in pairwise(latest))
        period = _period(latest, intervals, CLEARLY_KEPT, TOLERANCE)
        if period is None or period > period_s * (1 - SAME_PERIOD):
            break
        found, tail = _counted(period, TOLERANCE, intervals, zero + timedelta(seconds=latest[0])), tail * 2
    return found


def _longer_by_now(rhythm: Rhythm, signs: Sequence[datetime]) -> Rhythm:
    """The rhythm of the last intervals, where they are alike and the old rhythm would hardly have given them."""
    chance, alike = 1.0, 0
    newest = rhythm.intervals[-1]
    for interval in reversed(rhythm.intervals):
        if rhythm.misses_in(interval) == 0 or abs(interval - newest) > _tolerance_s(newest, TOLERANCE):
            break
        alike += 1
        chance *= max(rhythm.loss, DYING_LOSS) ** rhythm.misses_in(interval)
    if alike < FEWEST_INTERVALS or alike == len(rhythm.intervals) or chance > IMPROBABLE:
        return rhythm
    latest = signs[-alike - 1 :]
    return _rhythm([(sign - latest[0]).total_seconds() for sign in latest], latest[0])
