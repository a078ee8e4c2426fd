"""A tank, what feeds it and what it feeds → one chain of stages with the levels that a text can tell of, from the source to the taps.

Tanks side by side are one stage: they go down together. What is not configured is guessed by the use and counted as a guess.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from gateway.settings.models import Settings
from gateway.settings.water_tables import Tank
from gateway.water.tank_now import TankNow
from gateway.water.volumes import below_l, capacity_l

GUESSED_DAYS = 3.0
"""A tank of which no shape is known holds about so many days' use (common practice: two to five)."""
LOW_SHARE, HIGH_SHARE = 0.25, 0.95
"""Where a float's height is not known (common practice)."""
SAID_NOTHING = 0.5
"""A float that never spoke, of a box that is heard: as likely as not it would have (it may not be wired, or never tried)."""
DRY_TOLD = 0.5
"""Half the households say when their taps ran dry (an assumption)."""
MarkKind = Literal["high-over", "low", "dry"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A level of a tank that is passed on the way down: `drained` of its stage by then, litres; `seen_at`: when a text said so; `told`: how
    surely a text would have come by then (0: nothing is known of that float); `heard_until`: its box fell silent then."""

    tank: str
    stage: int
    kind: MarkKind
    drained_l: float
    seen_at: datetime | None = None
    told: float = 1.0
    heard_until: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """`holds_l`: what each stage holds when full, the first next to the source, the last at the taps; `guessed`: by stage, whether that,
    or what is drawn from it, is."""

    holds_l: tuple[float, ...]
    guessed: tuple[bool, ...]
    marks: tuple[Mark, ...]


def stages_of(settings: Settings, tank: Tank) -> list[list[Tank]]:
    """Everything above the tank, itself, and one way down from it to the taps."""
    by_id = {configured.id: configured for configured in settings.tanks}
    above: list[list[Tank]] = []
    level, seen = [tank], {tank.id}
    while level:
        above.insert(0, level)
        ids = dict.fromkeys(upper for lower in level for upper in lower.fed_by if upper in by_id and upper not in seen)
        seen.update(ids)
        level = [by_id[upper] for upper in ids]
    last = tank
    while (below := next((lower for lower in settings.tanks if last.id in lower.fed_by), None)) is not None:
        if below.id in seen:
            break
        above.append([below])
        seen.add(below.id)
        last = below
    return above


def use_share(settings: Settings, tank: Tank) -> float:
    """Of all that is drawn and all that comes, so much goes through the tanks that this one hangs together with: by what the tanks at
    the taps hold, for who draws more has more standing there (common practice). 1 where all hang together, and where a size is not
    known: then all may be drawn from this one."""
    ends = _ends_together(settings)
    if len(ends) < 2:
        return 1.0
    held = [sum(capacity_l(end.shape) if end.shape is not None else 0.0 for end in lasts) for _, lasts in ends]
    mine = next(number for number, (together, _) in enumerate(ends) if tank.id in together)
    return held[mine] / sum(held) if all(held) else 1.0


def _ends_together(settings: Settings) -> list[tuple[set[str], list[Tank]]]:
    """Tanks that hang together by their pipes, each with those of them that feed no other."""
    groups: list[set[str]] = []
    for tank in settings.tanks:
        linked = {tank.id, *tank.fed_by}
        joined = [group for group in groups if group & linked]
        groups = [group for group in groups if not group & linked] + [linked.union(*joined)]
    feeding = {upper for tank in settings.tanks for upper in tank.fed_by}
    return [
        (group, [tank for tank in settings.tanks if tank.id in group and tank.id not in feeding]) for group in groups
    ]


def chain_of(
    settings: Settings,
    states: Mapping[str, TankNow],
    tank: Tank,
    use_l_day: float,
    rises_l_day: float,
    overs: Mapping[str, datetime],
    dry: Mapping[str, datetime],
    *,
    is_shared: bool = False,
) -> Chain:
    """`rises_l_day`: how fast what is left over fills the chain again; `overs`: when a tank was last well again; `dry`: when the taps of a
    tank ran dry since it is low; `is_shared`: others draw too, from tanks that do not hang together with these."""
    stages = stages_of(settings, tank)
    began = _began(stages, states, overs)
    holds, guessed, marks = [], [], []
    for number, stage in enumerate(stages):
        recovered = [overs.get(below.id) for lower in stages[number + 1 :] for below in lower]
        below_over = max((at for at in recovered if at is not None), default=None)
        held = [
            _held(member, states[member.id], use_l_day, rises_l_day, began, overs.get(member.id), below_over)
            for member in stage
        ]
        total = sum(held)
        holds.append(total)
        guessed.append(is_shared or any(member.shape is None for member in stage))
        for member, litres in zip(stage, held, strict=True):
            told = states[member.id] if litres > 0 else TankNow(state="unknown", since=None)
            of_stage = total / litres if litres > 0 else 1.0
            capacity = _capacity(member, use_l_day)
            marks.extend(_marks(member, number, told, capacity, litres, of_stage))
            last = number == len(stages) - 1
            marks.append(
                Mark(
                    tank=member.id,
                    stage=number,
                    kind="dry",
                    drained_l=total,
                    seen_at=dry.get(member.id),
                    told=DRY_TOLD if last else 0.0,
                )
            )
    return Chain(holds_l=tuple(holds), guessed=tuple(guessed), marks=tuple(marks))


def full_again(tank: Tank, now: TankNow, over_at: datetime, use_l_day: float, rises_l_day: float) -> datetime:
    """When a tank that left its low float then was full, at the latest: those above go low for what it takes until then."""
    for seen in now.floats:
        if seen.means == "high" and seen.since is not None and seen.since >= over_at:
            return over_at if seen.state == "idle" else seen.since
    capacity = _capacity(tank, use_l_day)
    lows = [_level_l(tank, "low", seen.level_m, capacity) for seen in now.floats if seen.means == "low"]
    return over_at + timedelta(days=(capacity - min(lows, default=0.0)) / max(rises_l_day, 1e-3))


def _began(stages: list[list[Tank]], states: Mapping[str, TankNow], overs: Mapping[str, datetime]) -> datetime | None:
    """About when the trouble began: the first level passed that no tank below has outlived."""
    first = None
    for number, stage in enumerate(stages):
        recovered = [overs.get(below.id) for lower in stages[number + 1 :] for below in lower]
        for member in stage:
            low_at = _low_at(states[member.id])
            if low_at is None or any(over is not None and over > low_at for over in recovered):
                continue
            first = low_at if first is None else min(first, low_at)
    return first


def _low_at(now: TankNow) -> datetime | None:
    return min(
        (since for seen in now.floats if seen.means == "low" and (since := seen.below_since) is not None),
        default=None,
    )


def _held(
    tank: Tank,
    now: TankNow,
    use_l_day: float,
    rises_l_day: float,
    began: datetime | None,
    over_at: datetime | None,
    below_over: datetime | None,
) -> float:
    """Litres that stood in it when the trouble began: full, unless it was low not long ago; nothing, if it is low since before those below
    were well again (what comes runs through it)."""
    capacity = _capacity(tank, use_l_day)
    low_at = _low_at(now)
    if low_at is not None and below_over is not None and low_at < below_over:
        return 0.0
    if over_at is None or began is None or began <= over_at:
        return capacity
    if any(seen.means == "high" and seen.since and over_at <= seen.since for seen in now.floats):
        return capacity
    low = max(
        (_level_l(tank, "low", seen.level_m, capacity) for seen in now.floats if seen.means == "low"), default=0.0
    )
    # a high float that was idle before it was low, and says nothing since, has not been reached
    not_reached = [
        _level_l(tank, "high", seen.level_m, capacity)
        for seen in now.floats
        if seen.means == "high" and seen.state == "idle" and seen.since and seen.since < over_at
    ]
    return min(capacity, *not_reached, low + rises_l_day * ((began - over_at) / timedelta(days=1)))


def _capacity(tank: Tank, use_l_day: float) -> float:
    return capacity_l(tank.shape) if tank.shape is not None else max(use_l_day, 1.0) * GUESSED_DAYS


def _marks(tank: Tank, stage: int, now: TankNow, capacity: float, held: float, of_stage: float) -> list[Mark]:
    marks = []
    for float_now in now.floats:
        litres = _level_l(tank, float_now.means, float_now.level_m, capacity)
        if litres >= held and float_now.means == "high":
            continue
        marks.append(
            Mark(
                tank=tank.id,
                stage=stage,
                kind="low" if float_now.means == "low" else "high-over",
                drained_l=max(held - litres, 0.0) * of_stage,
                seen_at=float_now.below_since,
                told=1.0 if float_now.state != "unknown" else SAID_NOTHING if now.said_nothing else 0.0,
                heard_until=now.heard_until,
            )
        )
    return marks


def _level_l(tank: Tank, means: str, level_m: float | None, capacity: float) -> float:
    if tank.shape is None or level_m is None:
        return capacity * (LOW_SHARE if means == "low" else HIGH_SHARE)
    return below_l(tank.shape, level_m)
