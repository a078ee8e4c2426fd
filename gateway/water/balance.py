"""The one estimator: a tank that is low (or may run dry), all that was told of its chain → explanations, weighed, each with its time."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, tzinfo

from gateway.facts import CauseKind
from gateway.settings.models import Settings
from gateway.settings.water_tables import Tank
from gateway.water.chain import Chain, Mark, chain_of
from gateway.water.dry_time import Part
from gateway.water.evidence import Clock, Weighed, spread_of, weigh
from gateway.water.explanations import NEVER, Explanation, explanations
from gateway.water.learnt import Learnt
from gateway.water.tank_now import TankNow

WEIGHS_NOTHING = 2e-3
UNHEARD_SD = 0.28
"""Of the log of a time, a day without a word, growing with its root: nothing corrects any more what a day's use differs by
(household_use.csv), nor tells that something was mended or begun."""
MISTAKEN = 0.05
"""Somebody looked at the wrong pipe, or a trickle is taken for a flow: one answer in twenty (an assumption)."""
LEAST_SIDE, APART = 0.15, 1.5
"""A question is worth asking where either answer is that likely at least, and the two times are so far apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """What is thought of one chain, the tank's own part in it."""

    chain: Chain
    weighed: list[Weighed]
    clock: Clock
    now: datetime
    use_l_day: float
    figure_l_day: float

    def weights(self) -> dict[CauseKind, float]:
        """By cause."""
        by_kind: dict[CauseKind, float] = {}
        for candidate in self.weighed:
            by_kind[candidate.explanation.kind] = by_kind.get(candidate.explanation.kind, 0.0) + candidate.weight
        return by_kind


def balance(
    settings: Settings,
    states: Mapping[str, TankNow],
    tank: Tank,
    learnt: Learnt,
    now: datetime,
    zone: tzinfo,
    inflow_said: tuple[str, bool] | None = None,
) -> Balance:
    """Weighs every explanation of the chain that the tank belongs to.

    `inflow_said`: somebody looked whether water runs into that tank."""
    use = learnt.use_l_day
    chain = chain_of(
        settings, states, tank, use, learnt.rises_l_day, learnt.overs, learnt.dry, is_shared=learnt.is_shared
    )
    found = explanations(chain, learnt.rates, max(use, 1e-3), learnt.source_l_day)
    clock = Clock(zone)
    weighed = weigh(chain, found, learnt.use, now, clock)
    if inflow_said is not None:
        weighed = _answered(weighed, chain, *inflow_said)
    return Balance(chain=chain, weighed=weighed, clock=clock, now=now, use_l_day=use, figure_l_day=learnt.figure_l_day)


def worth_asking(seen: Balance, learnt: Learnt, tank: str, told: str) -> bool:
    """Whether knowing that water runs into `told`, or not, would move the likely time of the tank by half as much again."""
    stage = next((mark.stage for mark in seen.chain.marks if mark.tank == told), None)
    if stage is None:
        return False
    sides: dict[bool, list[tuple[float, float]]] = {True: [], False: []}
    runs = {id(candidate.explanation): _runs_in(candidate.explanation, stage) for candidate in seen.weighed}
    for candidate in seen.weighed:
        for part in dry_parts(replace(seen, weighed=[candidate]), learnt, tank):
            sides[runs[id(candidate.explanation)]].append((part.weight, math.log(part.days)))
    weights = {side: sum(weight for weight, _ in parts) for side, parts in sides.items()}
    if min(weights.values()) < LEAST_SIDE:
        return False
    means = {side: sum(weight * log for weight, log in parts) / weights[side] for side, parts in sides.items()}
    return abs(means[True] - means[False]) > math.log(APART)


def _answered(weighed: list[Weighed], chain: Chain, tank: str, runs: bool) -> list[Weighed]:
    """Each explanation that says otherwise of the inflow counts as much as an answer is mistaken."""
    stage = next((mark.stage for mark in chain.marks if mark.tank == tank), None)
    if stage is None:
        return weighed
    raw = [
        candidate.weight * (1 - MISTAKEN if _runs_in(candidate.explanation, stage) == runs else MISTAKEN)
        for candidate in weighed
    ]
    return [replace(candidate, weight=weight / sum(raw)) for candidate, weight in zip(weighed, raw, strict=True)]


def _runs_in(explanation: Explanation, stage: int) -> bool:
    """Whether water runs into that stage by this explanation: not below a cut, once it is low itself."""
    return explanation.missing is not None or explanation.edge > stage


def dry_parts(seen: Balance, learnt: Learnt, tank: str) -> list[Part]:
    """When that tank is empty, by each explanation, from the last level before that was told. Where `learnt` knows another figure for the
    use than what was weighed (guests, an empty house), that is drawn from now on."""
    use_scale = learnt.figure_l_day / seen.figure_l_day if seen.figure_l_day > 0 and learnt.figure_l_day > 0 else 1.0
    chain, marks = seen.chain, seen.chain.marks
    end = next(number for number, mark in enumerate(marks) if mark.tank == tank and mark.kind == "dry")
    parts: list[Part] = []
    for candidate in seen.weighed:
        dry = candidate.explanation.days[end]
        if candidate.weight < WEIGHS_NOTHING or dry == NEVER:
            continue
        before = _last_told(marks, candidate.explanation, dry)
        if before is None:
            continue
        mark, days = before
        assert mark.seen_at is not None
        found = _parts(candidate, dry - days, mark.seen_at, learnt, any(chain.guessed[mark.stage :]), use_scale)
        unheard = _unheard_sd(mark, seen.now)
        parts.extend(replace(part, spread=math.hypot(part.spread, unheard)) for part in found)
    return parts


def _unheard_sd(mark: Mark, now: datetime) -> float:
    """How much surer it was while the box that told of that level was still heard."""
    silent = now - mark.heard_until if mark.heard_until is not None else timedelta(0)
    return UNHEARD_SD * math.sqrt(max(silent / timedelta(days=1), 0.0))


def _last_told(marks: tuple[Mark, ...], explanation: Explanation, before: float) -> tuple[Mark, float] | None:
    told = [(mark, days) for mark, days in zip(marks, explanation.days, strict=True) if mark.seen_at and days < before]
    return max(told, key=lambda mark: (mark[1], mark[0].seen_at), default=None)


def _parts(
    candidate: Weighed, days: float, since: datetime, learnt: Learnt, guessed: bool, use_scale: float
) -> list[Part]:
    spread = spread_of(candidate.explanation, days, learnt.use.scatter, learnt.use.sd, guessed)
    if candidate.explanation.missing is not None:
        return [
            Part(
                kind=candidate.explanation.kind,
                weight=candidate.weight,
                days=days,
                spread=spread,
                by_clock=candidate.explanation.by_clock,
                since=since,
            )
        ]
    return [
        Part(
            kind=candidate.explanation.kind,
            weight=candidate.weight * part.weight,
            days=days * math.exp(learnt.use.mean - part.mean) / use_scale,
            spread=math.hypot(spread, part.sd),
            by_clock=0.0,
            since=since,
        )
        for part in candidate.use
        if candidate.weight * part.weight >= WEIGHS_NOTHING
    ]
