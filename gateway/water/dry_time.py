"""Weighted explanations, each with a log-normal time → when the water is gone and what is left: quantiles of their mixture.

The early and late ends are the mixture's tenth and ninetieth percentile; the likely time is the middle of the leading explanation, so that
it agrees with the cause that is named. Given that it is not dry yet, times already past do not count. Deterministic: read off the
mixture's distribution function.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.facts import CauseKind, Triple
from gateway.water.bisection import reached
from gateway.water.evidence import Clock, Span

FIRST_GUESS_DAYS, LONGEST_DAYS = 0.5, 400.0
CLOSE_ENOUGH = 1e-4
"""Of a day: ten seconds."""
SURELY_GONE = 0.9
Times = tuple[datetime, datetime, datetime]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One explanation: gone so many days (of its own draw) after `since`, by half; `spread` of the log; `by_clock`: see `Clock`."""

    kind: CauseKind
    weight: float
    days: float
    spread: float
    by_clock: float
    since: datetime


def dry_times(parts: Sequence[Part], since: datetime, now: datetime, clock: Clock) -> Times:
    """When it is gone, given that it is not by now; as it was, where it surely is. `parts`: not empty."""
    total = sum(part.weight for part in parts)

    def gone(among: Sequence[Part], at: datetime) -> float:
        spans = _spans(among, at, clock)
        return sum(part.weight * gone_after(part, spans[part.since]) for part in among)

    surely = gone(parts, now) > SURELY_GONE * total
    floor = since if surely else now

    def at(among: Sequence[Part], quantile: float) -> datetime:
        whole = sum(part.weight for part in among)
        already = 0.0 if surely else gone(among, now)
        wanted = already + quantile * (whole - already)
        low, high = 0.0, FIRST_GUESS_DAYS
        while high < LONGEST_DAYS and gone(among, floor + timedelta(days=high)) < wanted:
            low, high = high, min(2 * high, LONGEST_DAYS)
        days = reached(lambda days: gone(among, floor + timedelta(days=days)), wanted, low, high, CLOSE_ENOUGH)
        return floor + timedelta(days=days)

    early, late = at(parts, 0.1), at(parts, 0.9)
    likely = at(_leading(parts, floor, clock), 0.5)
    return early, min(max(early, likely), late), late


def _spans(parts: Sequence[Part], until: datetime, clock: Clock) -> dict[datetime, Span]:
    """From each time that parts count from: there are two or three, for some fifty explanations."""
    return {since: clock.span(since, until) for since in {part.since for part in parts}}


def gone_after(part: Part, span: Span) -> float:
    """How likely it is gone by then, by that explanation alone."""
    days = span.of(part.by_clock)
    return _phi(math.log(days / part.days) / part.spread) if days > 0 else 0.0


def _leading(parts: Sequence[Part], by: datetime, clock: Clock) -> list[Part]:
    """The cause that is likeliest, given that the water has lasted until then."""
    spans = _spans(parts, by, clock)
    lasting: dict[CauseKind, float] = {}
    for part in parts:
        lasting[part.kind] = lasting.get(part.kind, 0.0) + part.weight * (1 - gone_after(part, spans[part.since]))
    kind = max(lasting, key=lambda one: lasting[one])
    return [part for part in parts if part.kind == kind]


def left(parts: Sequence[Part], litres: float, now: datetime, clock: Clock) -> Triple:
    """What is left of `litres` (below the float that told last): the mixture's quantiles."""
    total = sum(part.weight for part in parts)
    spans = _spans(parts, now, clock)
    lasted = [spans[part.since].of(part.by_clock) for part in parts]

    def gone_of(share: float) -> float:
        """How likely at most that share of it went."""
        each = zip(parts, lasted, strict=True)
        return sum(part.weight * _drawn_at_most(part, share, days) for part, days in each) / total

    low, likely, high = (
        litres * (1 - min(1.0, reached(gone_of, quantile, 0.0, 3.0, CLOSE_ENOUGH))) for quantile in (0.9, 0.5, 0.1)
    )
    return Triple(low=low, likely=likely, high=high)


def _drawn_at_most(part: Part, share: float, days: float) -> float:
    if days <= 0:
        return 1.0
    return _phi(math.log(share * part.days / days) / part.spread) if share > 0 else 0.0


def _phi(z: float) -> float:
    return 0.5 * (1 + math.erf(z / math.sqrt(2)))
