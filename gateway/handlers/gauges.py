"""A reading of a gauge → its memory moves, its level is stored, and what follows is told: low, high, or that it cannot be believed.

Each reading is one event, `level`, with the number as it was read and the height that counts; what else it means are events beside it. A reading
that is older than what is known, or that an import brings, makes history by itself.
"""

from dataclasses import replace
from datetime import datetime
from typing import Any

from gateway.facts import Event, EventKind, Reading, input_key
from gateway.facts.states.controllers_and_tanks import GaugeMemory
from gateway.handlers.event_followers import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.inbox import latest_possible
from gateway.site import PlacedGauge
from gateway.status.gauge_memory import gauge_limits, gauge_memory, level_detail
from gateway.status.quiet_gauges import gauges_to_fall_quiet
from gateway.tanks import GaugeStep, apply_height, apply_no_height
from gateway.water.gauge_heights import height_of


def gauge_read(unit: UnitOfWork, placed: PlacedGauge, reading: Reading, event: Event) -> Event:
    """The reading's `level` event, stored, and what is learnt from it behind it."""
    event = replace(event, tank=placed.tank.id)
    memory = _without_future(gauge_memory(unit.tx, placed), latest_possible(event.at, unit.now, trusted=unit.trusted))
    height = height_of(placed.gauge, placed.tank.shape, reading.numbers["level"])
    # an old text that is read again is no second reading of the same height
    known = memory.seen_at is not None and (event.at < memory.seen_at or (unit.imported and event.at == memory.seen_at))
    if known:
        return _record_past(unit, placed, height, event)
    step = _step(unit, placed, memory, height, event.at)
    after = replace(step.memory, seen_at=event.at)
    unit.tx.set_state(after, placed.key)
    doubt = after.fault or ("between" if height == "held" else "")
    detail = {**event.detail, **level_detail(placed, after), **({"doubt": doubt} if doubt else {})}
    stored = record_event(unit, replace(event, kind="level", detail=detail))
    _record_faults(unit, placed, memory, step, event)
    _record_switches(unit, placed, step, event)
    return stored


def tell_quiet_gauges(unit: UnitOfWork) -> None:
    """A gauge that its box says nothing of, while it talks: told once, until it reads again."""
    for placed, since, due in tuple(gauges_to_fall_quiet(unit.tx, unit.site, unit.now)):
        if unit.now >= due:
            step = apply_no_height(gauge_memory(unit.tx, placed), "quiet", unit.now)
            unit.tx.set_state(step.memory, placed.key)
            detail = {"why": "quiet", "since": since.isoformat()}
            controller, input = placed.gauge.controller, input_key(placed.gauge.input)
            record_event(
                unit, unit.event("gauge-fault", detail, tank=placed.tank.id, controller=controller, input=input)
            )


def _without_future(memory: GaugeMemory, latest: datetime) -> GaugeMemory:
    """The memory without a last reading that no event can have by now: it would make history of every text for years."""
    ahead = memory.seen_at is not None and memory.seen_at > latest
    return GaugeMemory(low=memory.low, high=memory.high) if ahead else memory


def _step(unit: UnitOfWork, placed: PlacedGauge, memory: GaugeMemory, height: float | str, at: datetime) -> GaugeStep:
    match height:
        case "held":
            return GaugeStep(memory=memory)
        case "signal" | "range" as why:
            return apply_no_height(memory, "signal" if why == "signal" else "range", at)
        case _:
            return apply_height(memory, float(height), at, gauge_limits(unit.site, placed))


def _record_past(unit: UnitOfWork, placed: PlacedGauge, height: float | str, event: Event) -> Event:
    """A text that was overtaken: its height as it was read, with nothing that follows."""
    if isinstance(height, str):
        detail: dict[str, Any] = {**event.detail, "doubt": height}
    else:
        detail = {**event.detail, **level_detail(placed, GaugeMemory(level_m=height, at=event.at))}
    return record_event(unit, replace(event, kind="level", detail={**detail, "late": True}), past=True)


def _record_faults(unit: UnitOfWork, placed: PlacedGauge, before: GaugeMemory, step: GaugeStep, event: Event) -> None:
    if step.fault is not None:
        detail: dict[str, Any] = {"why": step.fault, "level": event.detail["level"]}
        if step.fault == "stuck" and step.memory.same_since is not None:
            detail["since"] = step.memory.same_since.isoformat()
        _record(unit, "gauge-fault", event, detail)
    if step.well:
        lasted = {} if before.fault_since is None else {"lasted_s": (event.at - before.fault_since).total_seconds()}
        _record(unit, "gauge-well", event, {**lasted, **level_detail(placed, step.memory)})


def _record_switches(unit: UnitOfWork, placed: PlacedGauge, step: GaugeStep, event: Event) -> None:
    for kind, since in step.switches:
        detail = level_detail(placed, step.memory)
        if since is not None:
            detail["lasted_s"] = (event.at - since).total_seconds()
        first = since is None and kind in ("low-over", "high-over")
        _record(unit, kind, event, {**detail, **({"first": True} if first else {})}, tell=not first)


def _record(unit: UnitOfWork, kind: EventKind, event: Event, detail: dict[str, Any], *, tell: bool = True) -> None:
    record_event(unit, replace(event, kind=kind, detail=detail), tell=tell)
