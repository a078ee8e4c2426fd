"""Past events, oldest first → what they teach (`learnt.py`): use, flows, the household's own rate of each trouble. Nothing is stored.

Each episode that is over is weighed by the same explanations and the same likelihood as the one that lasts (`evidence.py`); what each
explanation makes of it teaches as much as that explanation is believed. An episode that never ran dry teaches by how long it was low.
Use and flows are mixtures of normals in the logarithm (`use_belief.py`, `flow_belief.py`); troubles, X and P are counted (Dirichlet).
Source: Gelman et al., BDA3 §2.6, 3.4 and 5, from memory; moments matched after each episode (assumed density filtering).
"""

import math
import statistics
from collections.abc import Sequence
from copy import copy
from dataclasses import replace
from datetime import datetime, timedelta, tzinfo

from gateway.settings.models import Settings
from gateway.settings.water_tables import Tank
from gateway.water.chain import chain_of, full_again, stages_of, use_share
from gateway.water.demand import demand_in_month, demand_l_day
from gateway.water.draw_by_clock import DrawByClock
from gateway.water.evidence import Clock, Weighed, weigh
from gateway.water.explanations import PIPE_TIMES, Rates, explanations, missing_prior, pipe_prior, pipes_at
from gateway.water.float_levels import float_litres
from gateway.water.flow_belief import (
    FALL_TIMES,
    UNKNOWN_TIMES,
    Fill,
    came_by,
    flow_prior,
    source_seen,
)
from gateway.water.inflow import MINUTES_A_DAY, delivered_l_min
from gateway.water.learnt import Learnt, TankPast
from gateway.water.low_spells import Happened, LowSpells
from gateway.water.pipe_flow import tightest_l_day
from gateway.water.recession import Shown
from gateway.water.rises import fill_between, pipe_likely, rises_since_dry
from gateway.water.tank_now import TankNow
from gateway.water.use_learnt import use_after
from gateway.water.volumes import capacity_l

KEPT = 40
TROUBLE_CASES, SIZE_CASES = 4.0, 3.0
"""What was thought of the rates of trouble, and of the size of a leak, before anything was seen, counts as so many cases."""
PIPE_DOUBT = 0.5


class FoldOfEvents:
    def __init__(self, settings: Settings, zone: tzinfo, skipped: int) -> None:
        self._settings, self._zone, self._skipped = settings, zone, skipped
        self._spells = LowSpells(settings)
        self.tanks = {tank.id: tank for tank in settings.tanks}
        self._past = {tank: TankPast() for tank in self.tanks}
        self._shares_of = {tank.id: use_share(settings, tank) for tank in settings.tanks}
        self._figures = tuple(demand_l_day(demand_in_month(settings, month)) for month in range(1, 13))
        figure = statistics.fmean(self._figures)
        pump = settings.source.pump
        source = delivered_l_min(pump) * MINUTES_A_DAY if pump is not None else UNKNOWN_TIMES * max(figure, 1e-3)
        self.learnt = Learnt(
            figure_l_day=figure,
            source_figure_l_day=max(source, 1e-3),
            tanks=self._past,
            source=flow_prior(pump is not None),
        )
        self._kinds = [TROUBLE_CASES * share for share in self.learnt.rates.kinds]
        self._missing = [SIZE_CASES * share for share in missing_prior()]
        passes = tightest_l_day(settings.pipes)
        self._pipes = list(pipe_prior() if passes is None else pipes_at(passes / self.learnt.source_l_day))
        self.learnt = replace(self.learnt, rates=replace(self.learnt.rates, pipes=tuple(self._pipes)))
        self._by_clock = DrawByClock()

    def is_of(self, settings: Settings, zone: tzinfo) -> bool:
        """Whether it is of that household."""
        return self._settings == settings and self._zone == zone

    def copy(self) -> "FoldOfEvents":
        """One that goes on by itself: what was learnt so far stays as it is."""
        other = copy(self)
        other._past = {tank: replace(past) for tank, past in self._past.items()}
        other._spells = self._spells.copy()
        other._kinds, other._missing = [*self._kinds], [*self._missing]
        other._pipes = [*self._pipes]
        other.learnt = replace(self.learnt, tanks=other._past)
        return other

    def take(self, event: Happened, tank: Tank) -> None:
        """The next event, of that tank."""
        past, ends = self._past[tank.id], self._spells.is_end(event)
        self.learnt = replace(self.learnt, figure_l_day=self._figures[event.at.astimezone(self._zone).month - 1])
        match event.kind:
            case "low":
                self._fell(tank, past, event.at)
                past.low_at, past.over_at, past.dry_at = event.at, None, None
            case "low-over":
                if past.low_at is not None:
                    if ends:
                        self._episode(tank, event.at)
                    past.lows = [*past.lows, (past.low_at, event.at)][-KEPT:]
                    self._rose(tank, past, event.at)
                past.over_at, past.low_at, past.well_at = event.at, None, event.at
                past.above_l = self._above_l(tank)
            case "high":
                self._filled(tank, past, event.at)
                past.high_at, past.high_over_at, past.over_at, past.well_at = event.at, None, None, event.at
            case "high-over":
                past.high_over_at, past.high_at = event.at, None
            case "low-over-said" | "low-over-reckoned":
                # when it left its low float nobody knows: no fill and no draw can be measured from here
                past.low_at, past.over_at = None, None
            case "high-over-said" | "high-over-reckoned":
                past.high_at, past.high_over_at = None, None
            case "ran-dry":
                past.dry_at = event.at
            case "float-fault":
                past.faults = [*past.faults, event.at][-KEPT:]
            case _:
                pass

    def _states(self, until: datetime) -> dict[str, TankNow]:
        return {tank: past.as_it_was(self.tanks[tank], until) for tank, past in self._past.items()}

    def _episode(self, tank: Tank, over: datetime) -> None:
        """One more episode is over: every explanation teaches as much as it is believed."""
        learnt = self.learnt.of_share(self._shares_of[tank.id])
        self._skipped -= 1
        if learnt.figure_l_day <= 0 or self._skipped >= 0 or self._filled_those_below(tank, learnt):
            return
        mended = self._mended_at(tank, over, learnt)
        dry = {name: at for name, at in learnt.dry.items() if self._past[name].low_at is not None}
        chain = chain_of(
            self._settings,
            self._states(mended),
            tank,
            learnt.use_l_day,
            learnt.rises_l_day,
            learnt.overs,
            dry,
            is_shared=learnt.is_shared,
        )
        found = explanations(chain, learnt.rates, learnt.use_l_day, learnt.source_l_day)
        self._count(weigh(chain, found, learnt.use, mended, Clock(self._zone)), len(chain.holds_l) - 1)

    def _filled_those_below(self, tank: Tank, learnt: Learnt) -> bool:
        """Whether it was low for what ran down from it into a tank that had just been low itself: no trouble, and nothing to learn from."""
        low_at = self._past[tank.id].low_at
        for stage in stages_of(self._settings, tank)[::-1]:
            if tank in stage:
                return False
            for lower in stage:
                past = self._past[lower.id]
                over = past.lows[-1][1] if past.lows else None
                if low_at is not None and over is not None and over <= low_at:
                    now = past.as_it_was(lower, low_at)
                    if low_at < full_again(lower, now, over, learnt.use_l_day, learnt.rises_l_day):
                        return True
        return False

    def _mended_at(self, tank: Tank, over: datetime, learnt: Learnt) -> datetime:
        """Up to when the trouble surely lasted: what was told while the tank came up again (those above went down for it) is not of it."""
        past, low = self._past[tank.id], float_litres(tank, "low")
        assert past.low_at is not None
        if past.dry_at is not None and past.dry_at >= past.low_at:
            return past.dry_at
        rises = timedelta(days=(low or 0.0) / learnt.rises_l_day)
        return max(past.low_at, over - rises)

    def _count(self, weighed: Sequence[Weighed], between: int) -> None:
        """`between`: so many pipes, each with its share of the troubles."""
        rates = self.learnt.rates
        pipes = [0.0] * len(PIPE_TIMES)
        cut = by_clock = 0.0
        before = rates.pipes or pipe_prior()
        for candidate in weighed:
            explanation = candidate.explanation
            if explanation.missing is None:
                if explanation.edge == 0:
                    self._kinds[0] += candidate.weight
                else:
                    self._kinds[1] += candidate.weight / between
                cut += candidate.weight
                continue
            self._kinds[2] += candidate.weight
            self._missing[explanation.missing] += candidate.weight
            by_clock += candidate.weight if explanation.by_clock > 0 else 0.0
            pipes[explanation.pipe] += candidate.weight
        self._by_clock = self._by_clock.after(cut, by_clock, max(1 - cut - by_clock, 0.0))
        if between:
            self._pipes_seen([cut + weight / max(share, 1e-9) for weight, share in zip(pipes, before, strict=True)])
        self.learnt = replace(self.learnt, use=use_after(self.learnt.use, weighed), rates=self._rates())

    def _pipes_seen(self, likely: Sequence[float]) -> None:
        """Each case counts by a part of itself: its tanks were not as full, or its cause another, as likely as that."""
        mean = sum(weight * likelihood for weight, likelihood in zip(_shares(self._pipes), likely, strict=True))
        if mean > 0:
            self._pipes = [
                weight * (PIPE_DOUBT + (1 - PIPE_DOUBT) * likelihood / mean)
                for weight, likelihood in zip(_shares(self._pipes), likely, strict=True)
            ]

    def _rates(self) -> Rates:
        at_source, between, more = _shares(self._kinds)
        return Rates(
            kinds=(at_source, between, more),
            missing=tuple(_shares(self._missing)),
            pipes=tuple(_shares(self._pipes)),
            by_clock=self._by_clock.share,
        )

    def _above_l(self, tank: Tank) -> float:
        """What may stand above a tank that begins to fill: nothing, where the next one up is low."""
        stages = stages_of(self._settings, tank)
        upper = [upstream for stage in stages[: _stage_of(stages, tank)] for upstream in stage]
        if any(self._past[upstream.id].low_at is not None for upstream in upper if upstream.id in tank.fed_by):
            return 0.0
        return sum(capacity_l(upstream.shape) for upstream in upper if upstream.shape is not None)

    def _filled(self, tank: Tank, past: TankPast, at: datetime) -> None:
        high, low = float_litres(tank, "high"), float_litres(tank, "low")
        if past.over_at is None or high is None or low is None or high <= low or at <= past.over_at:
            return
        fill = fill_between(high - low, past.above_l, past.over_at, at, self._zone)
        learnt = self.learnt.of_share(self._shares_of[tank.id])
        if fill.above_l <= 0:
            past.fills = [*past.fills, math.log(fill.litres / fill.days)][-KEPT:]
            self._show(at, fill, tank)
        self._flow_seen([(1.0, fill)], learnt)

    def _rose(self, tank: Tank, past: TankPast, at: datetime) -> None:
        """It left its low float: after its taps ran dry, or after what it feeds was full."""
        low = float_litres(tank, "low")
        learnt = self.learnt.of_share(self._shares_of[tank.id])
        if self._skipped >= 0 or low is None or low <= 0 or past.low_at is None:
            return
        if past.dry_at is not None and past.low_at <= past.dry_at < at:
            self._flow_seen(rises_since_dry(low, self._above_l(tank), past.dry_at, at, self._zone), learnt)
            return
        below = [lower for lower in self.tanks.values() if tank.id in lower.fed_by]
        if len(below) == 1 and below[0].fed_by == (tank.id,) and self._above_l(tank) <= 0:
            since = self._well_since(below[0], past.low_at)
            if since is not None and since[0] < at:
                self._flow_seen([(1.0, fill_between(since[1] + low, 0.0, since[0], at, self._zone))], learnt)

    def _well_since(self, tank: Tank, low_at: datetime) -> tuple[datetime, float] | None:
        """When the tank below was last well again, while the one above was low, and what it could take from then on."""
        past = self._past[tank.id]
        if tank.shape is None or past.low_at is not None:
            return None
        for when, means in ((past.high_at, "high"), (past.over_at, "low")):
            litres = float_litres(tank, means)
            if when is not None and when > low_at and litres is not None:
                return when, capacity_l(tank.shape) - litres
        return None

    def _flow_seen(self, fills: Sequence[tuple[float, Fill]], learnt: Learnt) -> None:
        """A fill from the source alone teaches what that gives; one from the tanks above what the pipe passes."""
        if fills[0][1].above_l <= 0:
            source = source_seen(learnt.source, fills, learnt.source_figure_l_day, learnt.use_l_day)
            self.learnt = replace(self.learnt, source=source)
            return
        self._pipes_seen([pipe_likely(fills, times, learnt) for times in PIPE_TIMES])
        self.learnt = replace(self.learnt, rates=self._rates())

    def _fell(self, tank: Tank, past: TankPast, at: datetime) -> None:
        """From its high float down to its low one, by the source alone: where that took long, what came in shows."""
        high, low = float_litres(tank, "high"), float_litres(tank, "low")
        if past.high_over_at is None or high is None or low is None or high <= low or at <= past.high_over_at:
            return
        if tank.fed_by or past.low_at is not None:
            return
        fall = fill_between(low - high, 0.0, past.high_over_at, at, self._zone)
        use = self.learnt.use_l_day * self._shares_of[tank.id]
        came, _ = came_by(fall, use)
        if came * fall.days * FALL_TIMES >= use * fall.used_days:
            self._show(at, fall, tank)

    def _show(self, at: datetime, fill: Fill, tank: Tank) -> None:
        share = self._shares_of[tank.id]
        came, sd = came_by(fill, self.learnt.use_l_day * share)
        if came > 0:
            newest = Shown(at=at, log_l_day=math.log(came / share), sd=sd)
            self.learnt = replace(self.learnt, shown=(*self.learnt.shown, newest)[-KEPT:])


def _stage_of(stages: Sequence[Sequence[Tank]], tank: Tank) -> int:
    return next(number for number, stage in enumerate(stages) if any(member.id == tank.id for member in stage))


def _shares(counts: Sequence[float]) -> list[float]:
    total = sum(counts)
    return [count / total for count in counts]
