"""A chain → every explanation of the trouble with its own balance: when each level is passed, in days since it began.

A cut (at the source, or in a pipe between two stages) drains what is below it by what is used, the stage next to the cut first, since
whatever is above keeps the rest full. More use or a leak takes D = S + X litres a day out of the last stage (S what the source gives, X
what is missing); a pipe passes f = min(P, D): the stages above go down one after the other by f - S, the last by D - f until they are
empty, then by X. All in closed form; X and P, which nobody knows, are quadrature points.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from gateway.facts import CauseKind
from gateway.water.chain import Chain
from gateway.water.draw_by_clock import BY_CLOCK

MISSING_STEP = 1.2
"""From point to point: twice as far apart, leaks were off by 1.17 instead of 1.15 in the median, and their intervals a tenth wider."""
MISSING_TIMES: tuple[float, ...] = tuple(0.45 * MISSING_STEP**point for point in range(19))
"""X, in times the usual use: up to 12."""
MISSING_MEAN, MISSING_SD = math.log(5.0), 0.8
"""A leak or a hose takes several times the use: a sprinkler 6 l/min, a hose 20 (household_use.csv), a house 0.2 to 1.7."""
PIPE_TIMES: tuple[float, ...] = (1.04, 1.15, 1.35, 1.7, 2.3, 3.4, 5.5)
"""P over S: what a pipe between two tanks passes, over what the source gives."""
PIPE_MEAN, PIPE_SD = math.log(1.2), 0.9
"""Of P / S - 1. A pipe is laid for two to four times the source's flow (common practice), and narrower with age."""
RECKONED_SD = 0.25
"""Of log(P), where the pipe is configured (common practice: bends, age and air take a fifth)."""
CUT_AT_SOURCE, CUT_BETWEEN, MORE_DRAWN = 0.42, 0.24, 0.34
"""Before anything is seen: intakes clog oftener than pipes between tanks (common practice); learnt from the household's own past."""
NEVER = math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """`days`: when each mark of the chain is passed after it began (NEVER: not by this); `by_clock`: the share of the draw that does not go by
    the house's hours; `missing`, `pipe`: which quadrature points."""

    kind: CauseKind
    prior: float
    days: tuple[float, ...]
    edge: int = 0
    by_clock: float = 0.0
    missing: int | None = None
    pipe: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """How likely each kind of trouble is, each X, each P, and a draw by the clock."""

    kinds: tuple[float, float, float] = (CUT_AT_SOURCE, CUT_BETWEEN, MORE_DRAWN)
    missing: tuple[float, ...] = ()
    pipes: tuple[float, ...] = ()
    by_clock: float = BY_CLOCK


def explanations(chain: Chain, rates: Rates, use_l_day: float, source_l_day: float) -> list[Explanation]:
    """All of them, priors summing to 1. `use_l_day`, `source_l_day`: as believed."""
    stages = len(chain.holds_l)
    at_source, between, more = rates.kinds
    whole = at_source + between * (stages - 1) + more
    at_source, between, more = at_source / whole, between / whole, more / whole
    found = [_cut(chain, 0, "supply-stopped", at_source, use_l_day)]
    for edge in range(1, stages):
        if sum(chain.holds_l[:edge]) <= 0:
            continue  # nothing stands above it that could fail to come down
        found.append(_cut(chain, edge, "blocked-between", between, use_l_day))
    return found + _more_drawn(chain, rates, more, use_l_day, source_l_day)


def _cut(chain: Chain, edge: int, kind: CauseKind, prior: float, use_l_day: float) -> Explanation:
    before = [sum(chain.holds_l[edge:stage]) for stage in range(len(chain.holds_l))]
    days = tuple(
        (before[mark.stage] + mark.drained_l) / use_l_day if mark.stage >= edge else NEVER for mark in chain.marks
    )
    return Explanation(kind=kind, prior=prior, days=days, edge=edge)


def _more_drawn(chain: Chain, rates: Rates, prior: float, use_l_day: float, source_l_day: float) -> list[Explanation]:
    missing = rates.missing or missing_prior()
    pipes = (rates.pipes or pipe_prior()) if len(chain.holds_l) > 1 else (1.0,)
    befores = [sum(chain.holds_l[: mark.stage]) for mark in chain.marks]
    found = []
    for x_number, (times, x_weight) in enumerate(zip(MISSING_TIMES, missing, strict=True)):
        for p_number, p_weight in enumerate(pipes):
            lack = times * use_l_day
            days = _drained(chain, befores, lack, PIPE_TIMES[p_number] * source_l_day, source_l_day)
            more = lack + source_l_day - use_l_day
            clock = min(max(more / (more + use_l_day), 0.0), 1.0)
            for by_clock, share in ((clock, rates.by_clock), (0.0, 1 - rates.by_clock)):
                found.append(
                    Explanation(
                        kind="heavy-draw",
                        prior=prior * x_weight * p_weight * share,
                        days=days,
                        by_clock=by_clock,
                        missing=x_number,
                        pipe=p_number,
                    )
                )
    return found


def _drained(chain: Chain, befores: Sequence[float], lack: float, pipe: float, source: float) -> tuple[float, ...]:
    last = len(chain.holds_l) - 1
    above = sum(chain.holds_l[:last])
    flow = min(pipe, lack + source) if last else source
    from_above = flow - source
    empty_above = above / from_above if from_above > 0 else NEVER
    falls = lack - from_above
    days = []
    for mark, before in zip(chain.marks, befores, strict=True):
        if mark.stage < last:
            days.append((before + mark.drained_l) / from_above if from_above > 0 else NEVER)
        elif falls > 0 and mark.drained_l <= falls * empty_above:
            days.append(mark.drained_l / falls)
        elif above:
            days.append(empty_above + (mark.drained_l - max(falls, 0.0) * empty_above) / lack)
        else:
            days.append(mark.drained_l / lack)
    return tuple(days)


@lru_cache(maxsize=1)
def missing_prior() -> tuple[float, ...]:
    """The weights of X before anything was seen."""
    return _weights(MISSING_TIMES, MISSING_MEAN, MISSING_SD)


@lru_cache(maxsize=1)
def pipe_prior() -> tuple[float, ...]:
    """The weights of P over S before anything was seen."""
    return _weights([times - 1 for times in PIPE_TIMES], PIPE_MEAN, PIPE_SD)


def pipes_at(times: float) -> tuple[float, ...]:
    """The weights of P over S where it is reckoned from the pipe: still a quarter off either way, for age, bends and air."""
    return _weights(PIPE_TIMES, math.log(max(times, PIPE_TIMES[0])), RECKONED_SD)


def _weights(points: Sequence[float], mean: float, sd: float) -> tuple[float, ...]:
    raw = [math.exp(-0.5 * ((math.log(point) - mean) / sd) ** 2) for point in points]
    return tuple(weight / sum(raw) for weight in raw)
