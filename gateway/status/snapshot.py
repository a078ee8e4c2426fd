"""The store at a time → every tank and controller as it was known then. Looks; changes nothing.

One way for now and for any time before: the last event of each float known by then, the last text of each controller
known by then. Index look-ups only, however long the history is.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Literal

from gateway.facts import KINDS, Event, EventKind, NumberName, input_key, kinds_where, numbers_in
from gateway.ports import PauseRow, Reader
from gateway.settings.controller_tables import Controller
from gateway.settings.water_tables import Tank
from gateway.site import PlacedFloat, PlacedGauge, Site
from gateway.status.silence import limit_of
from gateway.tanks import FloatNow, tank_state
from gateway.tanks.tank_state import TankState

ControllerState = Literal["heard", "silent", "never-heard"]
NUMBER_EVENTS_LOOKED_AT = 60
SAID_OF_FLOAT: Mapping[str, tuple[EventKind, ...]] = {
    "low": kinds_where(lambda kind: kind.float_is is not None and "low" in (kind.opens, kind.closes)),
    "high": kinds_where(lambda kind: kind.float_is is not None and "high" in (kind.opens, kind.closes)),
}
"""What a float means → the kinds of event after which something else is known of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FloatSnapshot:
    """One float with where it is placed."""

    placed: PlacedFloat
    now: FloatNow


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A height of water that was read, its litres where the shape is known, and when it was."""

    level_m: float
    litres: float | None
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeSnapshot:
    """One gauge: what it says of its limits, as floats do, and the last height that counts; None while it cannot be believed.

    `is_heard`: that height is of now.
    """

    placed: PlacedGauge
    now: tuple[FloatNow, ...]
    measured: Measured | None
    is_heard: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TankSnapshot:
    """One tank as it stands."""

    tank: Tank
    state: TankState
    since: datetime | None
    floats: tuple[FloatSnapshot, ...]
    gauges: tuple[GaugeSnapshot, ...] = ()
    paused_until: datetime | None = None

    @property
    def measured(self) -> Measured | None:
        """The newest that its gauges read."""
        heights = [gauge.measured for gauge in self.gauges if gauge.measured is not None]
        return max(heights, key=lambda measured: measured.at, default=None)

    @property
    def is_watched(self) -> bool:
        """Whether it has anything that could tell of it."""
        return bool(self.floats or self.gauges)


@dataclass(frozen=True, slots=True, kw_only=True)
class ControllerSnapshot:
    """One controller as it stands. `limit`: how long it may be silent (None: off)."""

    controller: Controller
    state: ControllerState
    last_heard: datetime | None
    limit: timedelta | None
    numbers: Mapping[NumberName, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot:
    """Everything at one time."""

    at: datetime
    tanks: tuple[TankSnapshot, ...]
    controllers: tuple[ControllerSnapshot, ...]

    def tank(self, id: str) -> TankSnapshot:
        """That tank. Raises KeyError for one that is not configured."""
        return {snapshot.tank.id: snapshot for snapshot in self.tanks}[id]

    def heard_until(self, tank: TankSnapshot) -> datetime | None:
        """When the boxes that watch a tank of which nothing is known were heard last; None where they are heard and tell nothing of it."""
        boxes = {of_tank.placed.float.controller for of_tank in tank.floats}
        boxes |= {gauge.placed.gauge.controller for gauge in tank.gauges}
        silent = (box for box in self.controllers if box.state == "silent" and box.controller.id in boxes)
        return max((box.last_heard for box in silent if box.last_heard is not None), default=None)


def take_snapshot(reader: Reader, site: Site, at: datetime, *, numbers: bool = True) -> Snapshot:
    """The house at that time; without `numbers` where nobody asks for volts and signal."""
    controllers = {
        controller.id: _controller(reader, controller, at, numbers) for controller in site.settings.controllers
    }
    return Snapshot(
        at=at,
        tanks=tuple(_tank(reader, site, tank, controllers, at) for tank in site.settings.tanks),
        controllers=tuple(controllers.values()),
    )


def told_last(reader: Reader, site: Site, snapshot: Snapshot, tank: Tank) -> TankSnapshot:
    """What is known of a tank where a silent box is believed to stand as it told last."""
    boxes = {box.controller.id: box for box in snapshot.controllers}
    believed = {
        id: replace(box, state="heard", limit=None) if box.state == "silent" else box for id, box in boxes.items()
    }
    return _tank(reader, site, tank, believed, snapshot.at)


def paused(reader: Reader, tank: str, now: datetime) -> bool:
    """Whether somebody works on the tank now."""
    return any(_runs(pause, tank, now) for pause in reader.pauses())


def _tank(
    reader: Reader, site: Site, tank: Tank, controllers: Mapping[str, ControllerSnapshot], at: datetime
) -> TankSnapshot:
    floats = tuple(_float(reader, placed, controllers, at) for placed in site.floats_of(tank.id))
    gauges = tuple(_gauge(reader, placed, controllers, at) for placed in site.gauges_of(tank.id))
    state, since = tank_state([*(snapshot.now for snapshot in floats), *(now for gauge in gauges for now in gauge.now)])
    until = [pause.until for pause in reader.pauses(known_by=at) if _runs(pause, tank.id, at)]
    return TankSnapshot(
        tank=tank, state=state, since=since, floats=floats, gauges=gauges, paused_until=max(until, default=None)
    )


def _runs(pause: PauseRow, tank: str, at: datetime) -> bool:
    return pause.tank == tank and pause.since <= at < pause.until


def _float(
    reader: Reader, placed: PlacedFloat, controllers: Mapping[str, ControllerSnapshot], at: datetime
) -> FloatSnapshot:
    means = placed.float.means
    controller = controllers.get(placed.float.controller)
    if controller is None or controller.state != "heard":
        return FloatSnapshot(placed=placed, now=FloatNow(means=means, state="unknown"))
    last = last_switch(reader, placed, at)
    if last is None:
        return FloatSnapshot(placed=placed, now=FloatNow(means=means, state="unknown"))
    since = last.at if last.at <= at else None
    return FloatSnapshot(placed=placed, now=FloatNow(means=means, state=float_after(last), since=since))


def _gauge(
    reader: Reader, placed: PlacedGauge, controllers: Mapping[str, ControllerSnapshot], at: datetime
) -> GaugeSnapshot:
    """A gauge of a silent controller, one at fault, and one that has told nothing for as long as its box may be silent, are unknown."""
    last = last_level(reader, placed, at)
    measured = None if last is None or last.detail.get("doubt") not in (None, "between") else measured_of(last)
    box = controllers.get(placed.gauge.controller)
    heard = measured is not None and box is not None and box.state == "heard"
    fresh = heard and (box is None or box.limit is None or last is None or at - last.at < box.limit)
    gauge = placed.gauge
    limits: tuple[tuple[Literal["low", "high"], float], ...] = (("low", gauge.low_m), ("high", gauge.high_m))
    sides = [means for means, limit in limits if limit]
    if not fresh:
        return GaugeSnapshot(placed=placed, now=_unknown(sides), measured=measured, is_heard=False)
    if not sides:
        # it has no limits: what it tells is that the tank is there, and how full
        now: tuple[FloatNow, ...] = (FloatNow(means="high", state="idle"),)
    else:
        now = tuple(_side(reader, placed, side, at) for side in sides)
    return GaugeSnapshot(placed=placed, now=now, measured=measured, is_heard=True)


def _unknown(sides: Sequence[Literal["low", "high"]]) -> tuple[FloatNow, ...]:
    return tuple(FloatNow(means=side, state="unknown") for side in sides) or (FloatNow(means="high", state="unknown"),)


def _side(reader: Reader, placed: PlacedGauge, means: Literal["low", "high"], at: datetime) -> FloatNow:
    """Low or not, high or not, by the gauge's newest switch that was known by then."""
    gauge = placed.gauge
    last = reader.last_event(
        (means, f"{means}-over"),
        tank=placed.tank.id,
        controller=gauge.controller,
        input=input_key(gauge.input),
        known_by=at,
    )
    if last is None:
        return FloatNow(means=means, state="unknown")
    return FloatNow(
        means=means, state="active" if last.kind == means else "idle", since=last.at if last.at <= at else None
    )


def last_level(reader: Reader, placed: PlacedGauge, at: datetime) -> Event | None:
    """What a gauge told last, of what was known by then."""
    controller, input = placed.gauge.controller, input_key(placed.gauge.input)
    return reader.last_event(("level",), tank=placed.tank.id, controller=controller, input=input, known_by=at)


def measured_of(level: Event) -> Measured | None:
    """The height that counted after a `level` event, and when it was read; None where there was none."""
    height, litres, at = (level.detail.get(name) for name in ("level_m", "litres", "level_at"))
    if not isinstance(height, int | float) or not isinstance(at, str):
        return None
    return Measured(
        level_m=float(height),
        litres=float(litres) if isinstance(litres, int | float) else None,
        at=datetime.fromisoformat(at),
    )


def last_switch(reader: Reader, placed: PlacedFloat, at: datetime) -> Event | None:
    """The newest of what was known of the float by then: a switch, or how its alarm ended."""
    return reader.last_event(
        SAID_OF_FLOAT[placed.float.means],
        tank=placed.tank.id,
        controller=placed.float.controller,
        input=input_key(placed.float.input),
        known_by=at,
    )


def float_after(last: Event) -> Literal["active", "idle", "unknown"]:
    """What is known of a float after the newest event of it."""
    return KINDS[last.kind].float_is or "unknown"


def _controller(reader: Reader, controller: Controller, at: datetime, numbers: bool) -> ControllerSnapshot:
    last = reader.last_heard(controller.id, known_by=at)
    limit = limit_of(reader, controller, known_by=at)
    state: ControllerState = "heard"
    if last is None:
        state = "never-heard"
    elif limit is not None and at - last >= limit:
        state = "silent"
    newest = _numbers(reader, controller, at) if numbers else {}
    return ControllerSnapshot(controller=controller, state=state, last_heard=last, limit=limit, numbers=newest)


def _numbers(reader: Reader, controller: Controller, at: datetime) -> dict[NumberName, float]:
    """The newest of each number that its texts carried."""
    newest: dict[NumberName, float] = {}
    for event in reversed(reader.events(controller=controller.id, known_by=at, limit=NUMBER_EVENTS_LOOKED_AT)):
        if event.kind != "battery-low":
            newest = {**numbers_in(event.detail), **newest}
    return newest
