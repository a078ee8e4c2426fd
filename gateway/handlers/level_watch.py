"""After each level of a gauge: whether water goes all night, and whether the tank's floats say the same as the gauge.

Both are told once and said to be over once. Either may be wrong, gauge or float: what is told names both, and the tank stays as low as any says.
"""

from datetime import time

from gateway.facts import Event
from gateway.facts.states.controllers_and_tanks import GaugeContradicted, NightFlowWatch
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.site import PlacedFloat, PlacedGauge
from gateway.status.float_memory import float_memory
from gateway.status.levels import litres_of
from gateway.water.gauge_heights import range_of
from gateway.water.night_flow import night_flow, was_looked_at

MORNING = time(5, 30)
APART_M, APART_SHARE = 0.1, 0.08
"""A float and a gauge contradict each other from so far on, and by so much of the tank's height (a float switches within centimetres)."""
TIMES = 2
"""In so many levels, one after the other: water takes a while from one to the other."""


def watch_night_flow(unit: UnitOfWork, level: Event) -> list[Event]:
    """Once a morning, with the first level of it: three nights in which water went without a rest, or that this is over."""
    gauge, local = _gauge_of(unit, level), level.at.astimezone(unit.site.zone)
    watch = NightFlowWatch() if gauge is None else unit.tx.state(NightFlowWatch, gauge.key) or NightFlowWatch()
    if gauge is None or local.time() < MORNING or watch.looked == local.date() or "late" in level.detail:
        return []
    levels = litres_of(unit.tx, gauge, level.at)
    flow = night_flow(levels, local.date(), unit.site.zone)
    over = flow is None and watch.told_at is not None and was_looked_at(levels, local.date(), unit.site.zone)
    told_at = level.at if flow is not None and watch.told_at is None else None if over else watch.told_at
    unit.tx.set_state(NightFlowWatch(looked=local.date(), told_at=told_at), gauge.key)
    if flow is not None and watch.told_at is None:
        detail = {"flow_l_h": round(flow.l_h), "nights": flow.nights}
        return [unit.event("night-flow", detail, at=level.at, tank=level.tank)]
    if over and watch.told_at is not None:
        lasted = {"lasted_s": (level.at - watch.told_at).total_seconds()}
        return [unit.event("night-flow-over", lasted, at=level.at, tank=level.tank)]
    return []


def compare_with_floats(unit: UnitOfWork, level: Event) -> list[Event]:
    """A float that says something else than the gauge, in two levels running; and that they agree again."""
    gauge, height = _gauge_of(unit, level), level.detail.get("level_m")
    if gauge is None or not isinstance(height, int | float) or "late" in level.detail:
        return []
    brim = range_of(gauge.gauge, gauge.tank.shape)[1] or 0.0
    apart = [placed for placed in unit.site.floats_of(gauge.tank.id) if _contradicts(unit, placed, float(height), brim)]
    before = unit.tx.state(GaugeContradicted, gauge.key) or GaugeContradicted()
    after = GaugeContradicted(times=before.times + 1 if apart else 0, told_at=before.told_at)
    events = []
    if apart and after.times >= TIMES and before.told_at is None:
        after = GaugeContradicted(times=after.times, told_at=level.at)
        detail = {"level_m": height, "float_m": apart[0].float.level_m, "float_says": _says(unit, apart[0])}
        events = [unit.event("gauge-differs", detail, at=level.at, tank=level.tank)]
    elif not apart and before.told_at is not None:
        after = GaugeContradicted()
        lasted = {"lasted_s": (level.at - before.told_at).total_seconds()}
        events = [unit.event("gauge-agrees", lasted, at=level.at, tank=level.tank)]
    if after != before:
        unit.tx.set_state(after, gauge.key)
    return events


def _gauge_of(unit: UnitOfWork, level: Event) -> PlacedGauge | None:
    return unit.site.gauges.get((level.controller or "", level.input or ""))


def _contradicts(unit: UnitOfWork, placed: PlacedFloat, height: float, brim: float) -> bool:
    """Whether the float's level is well above, or well below, the water, and it says otherwise."""
    state, at = float_memory(unit.tx, placed).state, placed.float.level_m
    if state == "unknown" or at is None:
        return False
    under_water = (state == "idle") == (placed.float.means == "low")
    margin = max(APART_M, APART_SHARE * brim)
    return height < at - margin if under_water else height > at + margin


def _says(unit: UnitOfWork, placed: PlacedFloat) -> str:
    """`low` or `high` where it is active, else that it is not: as labels have it."""
    active = float_memory(unit.tx, placed).state == "active"
    return placed.float.means if active else f"not-{placed.float.means}"
