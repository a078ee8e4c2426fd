"""What was told, when, and what was not told → how likely each explanation is.

Between two levels that were passed each explanation expects a time; how far the time that was seen is off it is log-normal, with a floor,
since a text may be late, lost or of another time. A level that should have been passed and was not told speaks against it as much as a
text is hardly ever lost; so does one that was told and should not have been passed.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from gateway.water.chain import Chain
from gateway.water.demand import day_shares
from gateway.water.explanations import MISSING_STEP, NEVER, Explanation
from gateway.water.use_belief import LEVEL_SD, Component, UseBelief, noise_sd, observe

LOST = 0.04
"""A text is lost, or a float sticks: one in twenty-five (networks lose less)."""
ANY_TIME, ANY_DAY = 1 / 6, 1 / 4
"""The density of a time of which nothing is known, per log: anything within a factor of twenty, or any day of some."""
NEAR_DAYS = 0.02
"""Half an hour either way is the same time: floats, waves, the network."""
ODD, ODD_TIMES = 0.1, 2.5
"""One time in ten is odd (a day of washing, guests for a night): the largest day is half as much again to twice the mean (household_use.csv)."""
GRID_SD, PIPE_GRID_SD = math.log(MISSING_STEP) / math.sqrt(12), 0.18
"""A quadrature point counts for what lies between it and the next: a cell's width over the root of twelve."""
GUESSED_SD = 0.5
"""A stage whose shape is not configured, or which shares the use with tanks that it does not hang together with."""
OUT_OF_THE_QUESTION = 1e-4
"""Of the best explanation so far: not looked at further."""
USE_SD_AT_MOST = 0.35
_ROOT_2, _ROOT_2_PI = math.sqrt(2), math.sqrt(2 * math.pi)


@dataclass(frozen=True, slots=True)
class Span:
    """Days between two times: by the clock, and by the house's hours."""

    by_clock: float
    by_hours: float

    def of(self, by_clock: float) -> float:
        """A draw of which that share goes by the clock takes as much in that time as the mean draw in so many days."""
        return by_clock * self.by_clock + (1 - by_clock) * self.by_hours


@dataclass(frozen=True, slots=True)
class Clock:
    """Where the household's hours are."""

    zone: tzinfo

    def span(self, since: datetime, until: datetime) -> Span:
        """Between two times; nothing where the second is before the first."""
        days = max(0.0, (until - since) / timedelta(days=1))
        return Span(by_clock=days, by_hours=day_shares(since, until, self.zone))


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """An explanation with its weight, and what it makes of the use meanwhile (log of use over the figure)."""

    explanation: Explanation
    weight: float
    use: Sequence[Component]
    seen: Sequence[tuple[float, float]] = ()
    """Log-ratios of use to the figure that it takes from what was seen, each with its noise."""


def weigh(chain: Chain, found: Sequence[Explanation], use: UseBelief, now: datetime, clock: Clock) -> list[Weighed]:
    """Each explanation's weight given all that was told by now, summing to 1."""
    told = _Told(chain, use, now, clock)
    raw, best = [], 0.0
    for explanation in found:
        likely, after, seen = told.likelihood(explanation, best * OUT_OF_THE_QUESTION / max(explanation.prior, 1e-12))
        best = max(best, explanation.prior * likely)
        raw.append((explanation, likely, after, seen))
    total = sum(explanation.prior * likely for explanation, likely, _, _ in raw)
    return [
        Weighed(
            explanation=explanation,
            weight=explanation.prior * likely / total if total > 0 else explanation.prior,
            use=after,
            seen=seen,
        )
        for explanation, likely, after, seen in raw
    ]


def spread_of(
    explanation: Explanation, days: float, scatter: float, use_sd: float, guessed: bool, from_above: bool = False
) -> float:
    """Of the log of a time that the explanation expects to last so many days, the household's mean use given."""
    noise = noise_sd(days, scatter)
    variance = GUESSED_SD**2 if guessed else 0.0
    if explanation.missing is None:
        return math.sqrt(variance + noise**2)
    by_hours = (1 - explanation.by_clock) ** 2
    variance += LEVEL_SD**2 + GRID_SD**2 + (PIPE_GRID_SD**2 if from_above else 0.0)
    return math.sqrt(variance + by_hours * (noise**2 + min(use_sd, USE_SD_AT_MOST) ** 2))


class _Told:
    """All that was told of a chain, with the days between any two times."""

    def __init__(self, chain: Chain, use: UseBelief, now: datetime, clock: Clock) -> None:
        self._chain, self._scatter = chain, use.scatter
        self._priors = use.in_an_episode()
        self._use_sd, self._use_mean = min(use.sd, USE_SD_AT_MOST), use.mean
        self._last_stage = len(chain.holds_l) - 1
        self._seen = [mark.seen_at is not None for mark in chain.marks]
        self._numbers = [number for number, mark in enumerate(chain.marks) if mark.seen_at or mark.told > 0]
        self._seen_numbers = [number for number, seen in enumerate(self._seen) if seen]
        seen = {number: at for number, mark in enumerate(chain.marks) if (at := mark.seen_at) is not None}
        self._spans = {
            since: {until: clock.span(at, then) for until, then in seen.items()} for since, at in seen.items()
        }
        # a level that is passed after its box fell silent is told by nobody
        self._heard = [min(mark.heard_until, now) if mark.heard_until else now for mark in chain.marks]
        self._until = {
            since: {until: clock.span(at, until) for until in set(self._heard)} for since, at in seen.items()
        }

    def likelihood(
        self, explanation: Explanation, least: float
    ) -> tuple[float, Sequence[Component], Sequence[tuple[float, float]]]:
        """How likely all of it is (0 once it is below `least`), what the use was meanwhile, and the ratios that say so."""
        expected = explanation.days
        marks, seen = self._chain.marks, self._seen
        first = min((n for n in self._seen_numbers if expected[n] < NEVER), key=expected.__getitem__, default=None)
        likely, last = 1.0, -1
        after: Sequence[Component] = self._priors
        ratios: list[tuple[float, float]] = []
        for number in sorted(self._numbers, key=expected.__getitem__):
            if likely < least:
                return 0.0, after, ()
            if not seen[number]:
                if first is not None and expected[number] < NEVER and marks[number].told > 0:
                    passed = self._passed(explanation, number, last, first)
                    likely *= 1 - marks[number].told * (1 - LOST) * passed
                continue
            if expected[number] == NEVER:
                likely *= LOST * self._any_time(number, first)
                continue
            if last >= 0:
                density, after = self._interval(explanation, last, number, after, ratios)
                likely *= density
            last = number
        return likely, after, ratios

    def _any_time(self, number: int, other: int | None) -> float:
        if other is None:
            return ANY_TIME
        apart = max(self._spans[other][number].by_clock, self._spans[number][other].by_clock)
        return min(ANY_TIME, ANY_DAY * (apart + NEAR_DAYS))

    def _interval(
        self,
        explanation: Explanation,
        before: int,
        here: int,
        parts: Sequence[Component],
        ratios: list[tuple[float, float]],
    ) -> tuple[float, Sequence[Component]]:
        """How likely the time between two levels is, and what it teaches about the use of this episode."""
        floor = LOST * self._any_time(here, before)
        lasted = self._spans[before][here].of(explanation.by_clock)
        if lasted <= 0:
            return floor, parts
        expected = explanation.days[here] - explanation.days[before]
        marks = self._chain.marks
        guessed = any(self._chain.guessed[marks[before].stage : marks[here].stage + 1])
        sd = spread_of(
            explanation, expected, self._scatter, self._use_sd, guessed, marks[before].stage < self._last_stage
        )
        off = math.log((expected + NEAR_DAYS) / (lasted + NEAR_DAYS))
        if explanation.missing is not None:
            fits = _density(off, sd), _density(off, ODD_TIMES * sd)
            return floor + (1 - LOST) * ((1 - ODD) * fits[0] + ODD * fits[1]), parts
        ratio = off + self._use_mean
        narrow, after = observe(parts, ratio, sd)
        narrow *= (1 - LOST) * (1 - ODD)
        odd = (1 - LOST) * ODD * observe(parts, ratio, ODD_TIMES * sd)[0]
        if narrow < odd + floor:
            return narrow + odd + floor, parts
        ratios.append((ratio, sd))
        return narrow + odd + floor, after

    def _passed(self, explanation: Explanation, number: int, last: int, first: int) -> float:
        """How likely it is that a level was passed by now, from the last that was told before it, or the first after it."""
        days, heard = explanation.days[number], self._heard[number]
        if last >= 0:
            since, expected = self._until[last][heard].of(explanation.by_clock), days - explanation.days[last]
        else:
            since, expected = explanation.days[first] + self._until[first][heard].of(explanation.by_clock), days
        if since <= 0 or expected <= 0:
            return float(since > 0)
        off = math.log(since / expected)
        if abs(off) > 2:
            return float(off > 0)
        sd = math.hypot(spread_of(explanation, days, self._scatter, self._use_sd, False), self._use_sd)
        return 0.5 * (1 + math.erf(off / sd / _ROOT_2))


def _density(off: float, sd: float) -> float:
    return math.exp(-0.5 * (off / sd) ** 2) / (sd * _ROOT_2_PI)
