"""One gauge's memory and a height that was read → its next memory: the level that counts, low or high with a band, and what is wrong with it.

The level is the newest height where it moved no further than the house and its supply can make it; else the median of the last three, which
takes out any single value and keeps an edge. A height that no pipe can have made is not taken at all: the gauge jumped. One that does not
move while the house must have drawn much is stuck. A gauge at fault says nothing until it was believable twice in a row.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from statistics import median
from typing import Literal

from gateway.facts.states.controllers_and_tanks import GaugeMemory

KEPT = 3
"""Heights that the median is taken of: any single wrong one is taken out."""
MOST_M_MIN = 0.5
"""Where no shape is known: no tank's water moves faster (common practice)."""
MOST_L_MIN = 1000.0
"""More than a tanker's hose or a fire hose gives (from memory)."""
JUMP_SHARE = 0.1
"""Of the height: what moves less is never called a jump, however fast, for gauges wobble."""
WOBBLE_SHARE = 0.02
USUAL_TIMES = 3.0
"""So many times the usual flow still passes for a height that was read rightly, without waiting for the next."""
STUCK_LEAST = timedelta(hours=24)
STUCK_SHARE = 0.1
"""Stuck: not the least change while the house drew so much of what the tank holds."""
STUCK_READINGS = 4
TOP_SHARE = 0.95
"""A tank that overflows stands still: above this nothing is said of it."""
BELIEVABLE_AGAIN = 2
CLOSE_M = 1e-9

Fault = Literal["signal", "range", "jump", "stuck", "quiet"]
"""`quiet`: its box talks and says nothing of it."""
Switch = Literal["low", "low-over", "high", "high-over"]


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeLimits:
    """What a gauge is held against: heights in m (0: never), and of its tank, where known, height and litres; the usual
    use, and use and supply together, in litres a day.
    """

    low_m: float
    high_m: float
    band_m: float
    height_m: float | None = None
    capacity_l: float | None = None
    use_l_day: float = 0.0
    flow_l_day: float = 0.0

    @property
    def litres_per_m(self) -> float | None:
        """On the average over its height."""
        return self.capacity_l / self.height_m if self.capacity_l and self.height_m else None


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeStep:
    """What one reading made of it: switches, each with since when it was otherwise (None: it is the first that is known of it); a fault that
    began, or that it is `well` again.
    """

    memory: GaugeMemory
    switches: tuple[tuple[Switch, datetime | None], ...] = ()
    fault: Fault | None = None
    well: bool = False


def apply_height(memory: GaugeMemory, height: float, at: datetime, limits: GaugeLimits) -> GaugeStep:
    """A height that the tank can have."""
    seen = _seen(memory, height, at)
    if memory.fault:
        return _while_at_fault(seen, height, at, limits)
    if _jumped(memory, height, at, limits):
        step = _fault(seen, "jump", at)
        return replace(step, memory=replace(step.memory, candidate=height, candidate_at=at, believable=1))
    if _stuck(seen, height, at, limits):
        return _fault(seen, "stuck", at)
    return _counts(seen, height, at, limits)


def apply_no_height(memory: GaugeMemory, why: Literal["signal", "range", "quiet"], at: datetime) -> GaugeStep:
    """What was read can be no height, or nothing was."""
    if memory.fault:
        return GaugeStep(memory=replace(memory, believable=0, candidate=None, candidate_at=None))
    return _fault(memory, why, at)


def _seen(memory: GaugeMemory, height: float, at: datetime) -> GaugeMemory:
    """How long it has read just this."""
    if memory.same_height is not None and abs(height - memory.same_height) < CLOSE_M and memory.same_since is not None:
        return replace(memory, same_times=memory.same_times + 1)
    return replace(memory, same_height=height, same_since=at, same_times=1)


def _fault(memory: GaugeMemory, why: Fault, at: datetime) -> GaugeStep:
    after = replace(memory, fault=why, fault_since=at, believable=0, candidate=None, candidate_at=None)
    return GaugeStep(memory=after, fault=why)


def _while_at_fault(memory: GaugeMemory, height: float, at: datetime, limits: GaugeLimits) -> GaugeStep:
    if memory.fault == "stuck" and memory.same_times > 1:
        return GaugeStep(memory=memory)
    before, since = memory.candidate, memory.candidate_at
    steady = before is not None and since is not None and not _too_fast(before, since, height, at, limits)
    believable = memory.believable + 1 if steady else 1
    after = replace(memory, believable=believable, candidate=height, candidate_at=at)
    if believable < BELIEVABLE_AGAIN and memory.fault not in ("stuck", "quiet"):
        return GaugeStep(memory=after)
    well = replace(after, fault="", fault_since=None, recent=(), believable=0, candidate=None, candidate_at=None)
    return replace(_counts(well, height, at, limits), well=True)


def _jumped(memory: GaugeMemory, height: float, at: datetime, limits: GaugeLimits) -> bool:
    return (
        memory.level_m is not None
        and memory.at is not None
        and _too_fast(memory.level_m, memory.at, height, at, limits)
    )


def _too_fast(before: float, since: datetime, height: float, at: datetime, limits: GaugeLimits) -> bool:
    moved = abs(height - before)
    if moved <= JUMP_SHARE * (limits.height_m or 1.0):
        return False
    minutes = max((at - since) / timedelta(minutes=1), 1 / 60)
    fastest = MOST_L_MIN / limits.litres_per_m if limits.litres_per_m else MOST_M_MIN
    return moved / minutes > fastest


def _stuck(memory: GaugeMemory, height: float, at: datetime, limits: GaugeLimits) -> bool:
    if memory.same_since is None or memory.same_times < STUCK_READINGS or not limits.capacity_l or not limits.height_m:
        return False
    at_an_end = (
        height <= CLOSE_M or height >= TOP_SHARE * limits.height_m or (limits.high_m and height >= limits.high_m)
    )
    lasted = at - memory.same_since
    drawn = limits.use_l_day * (lasted / timedelta(days=1))
    return not at_an_end and lasted >= STUCK_LEAST and drawn >= STUCK_SHARE * limits.capacity_l


def _counts(memory: GaugeMemory, height: float, at: datetime, limits: GaugeLimits) -> GaugeStep:
    recent = (*memory.recent, height)[-KEPT:]
    level = height if _moved_as_usual(memory, height, at, limits) else _middle(recent)
    after = replace(memory, recent=recent, level_m=level, at=at)
    after, low = _switched(after, "low", _beyond(memory.low, limits.low_m - level, limits.band_m, limits.low_m), at)
    after, high = _switched(
        after, "high", _beyond(memory.high, level - limits.high_m, limits.band_m, limits.high_m), at
    )
    switches = tuple(switch for switch in (low, high) if switch is not None)
    return GaugeStep(memory=after, switches=switches)


def _moved_as_usual(memory: GaugeMemory, height: float, at: datetime, limits: GaugeLimits) -> bool:
    """Whether the house and its supply may have done it since the last reading."""
    if memory.level_m is None or memory.at is None:
        return True
    days = max((at - memory.at) / timedelta(days=1), 0.0)
    usual_m = USUAL_TIMES * limits.flow_l_day * days / limits.litres_per_m if limits.litres_per_m else 0.0
    return abs(height - memory.level_m) <= usual_m + WOBBLE_SHARE * (limits.height_m or 1.0)


def _middle(heights: Sequence[float]) -> float:
    """The median; of two the newer, for nobody can say which is the odd one."""
    return heights[-1] if len(heights) < KEPT else median(heights)


def _beyond(was: bool | None, by: float, band: float, limit: float) -> bool | None:
    """Whether it is beyond its limit, `by` so much; None where there is none."""
    if not limit:
        return None
    return by > CLOSE_M or (bool(was) and by > -band + CLOSE_M)


def _switched(
    memory: GaugeMemory, means: Literal["low", "high"], now: bool | None, at: datetime
) -> tuple[GaugeMemory, tuple[Switch, datetime | None] | None]:
    """The memory with this side as it is now, and the switch with since when it was otherwise (None: never known)."""
    was, since = (memory.low, memory.low_since) if means == "low" else (memory.high, memory.high_since)
    if now is None or now is was:
        return memory, None
    if means == "low":
        after = replace(memory, low=now, low_since=at)
        return after, ("low" if now else "low-over", since)
    return replace(memory, high=now, high_since=at), ("high" if now else "high-over", since)
