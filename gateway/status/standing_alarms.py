"""A site as it stands → everything that is not well there, the weightiest first, and what its headline is about.

In: the snapshot, and of the record what the snapshot lacks: power, batteries, the gateway's own troubles.
Out: values; how they are worded is up to whoever shows them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from gateway.facts.states import BatteryEpisode, TapsDry
from gateway.ports import Reader
from gateway.settings.models import Controller
from gateway.status.dry_taps import taps_dry
from gateway.status.site_standing import SiteStanding
from gateway.status.snapshot import ControllerSnapshot, TankSnapshot
from gateway.status.troubles import trouble_since, troubles


@dataclass(frozen=True, slots=True, kw_only=True)
class TankAlarm:
    """A tank that is low, or of which nothing is known. `ran_dry_at`: when its taps ran dry since it is low."""

    kind: Literal["low", "unknown"]
    tank: TankSnapshot
    ran_dry_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ControllerAlarm:
    """A controller that is not heard, without power or with a low battery; `since` when (silent: since it was last heard)."""

    kind: Literal["silent", "never-heard", "no-power", "battery-low"]
    controller: Controller
    since: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class GatewayAlarm:
    """A trouble of the gateway itself; `kind` is that of the event that began it."""

    kind: str
    since: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseAlarm:
    """The taps are dry by somebody's word, whatever the tanks' floats say."""

    dry: TapsDry


StandingAlarm = HouseAlarm | TankAlarm | ControllerAlarm | GatewayAlarm


@dataclass(frozen=True, slots=True, kw_only=True)
class Headline:
    """What a page or a message says first: all low tanks together, else the weightiest alarm; None: all is well.

    `others`: how many alarms it does not name.
    """

    about: tuple[TankAlarm, ...] | StandingAlarm | None
    others: int = 0


def standing_alarms(reader: Reader, standing: SiteStanding) -> tuple[StandingAlarm, ...]:
    """Everything that is not well, the weightiest first: low tanks, controllers, the gateway, tanks of which nothing is known."""
    tanks, controllers = standing.snapshot.tanks, standing.snapshot.controllers
    dry = taps_dry(reader)
    return (
        *(() if dry is None else (HouseAlarm(dry=dry),)),
        *(_low_tank(reader, tank) for tank in tanks if tank.state == "low"),
        *(alarm for controller in controllers for alarm in _controller_alarms(reader, controller)),
        *(GatewayAlarm(kind=kind, since=trouble_since(reader, kind)) for kind in troubles(reader)),
        # An unknown tank follows from a silent controller, which says more and stands above it.
        *(TankAlarm(kind="unknown", tank=tank) for tank in tanks if tank.state == "unknown" and tank.is_watched),
    )


def headline_of(alarms: Sequence[StandingAlarm]) -> Headline:
    """Dry taps, then low tanks before all else, for they are what a household must act on."""
    if alarms and isinstance(alarms[0], HouseAlarm):
        return Headline(about=alarms[0], others=len(alarms) - 1)
    low = tuple(alarm for alarm in alarms if isinstance(alarm, TankAlarm) and alarm.kind == "low")
    if low:
        return Headline(about=low, others=len(alarms) - len(low))
    return Headline(about=alarms[0], others=len(alarms) - 1) if alarms else Headline(about=None)


def _low_tank(reader: Reader, tank: TankSnapshot) -> TankAlarm:
    report = reader.last_event(("ran-dry",), tank=tank.tank.id)
    dry_now = report is not None and tank.since is not None and report.at >= tank.since
    return TankAlarm(kind="low", tank=tank, ran_dry_at=report.at if report is not None and dry_now else None)


def _controller_alarms(reader: Reader, snapshot: ControllerSnapshot) -> Iterator[ControllerAlarm]:
    """Each by itself: a box may be silent, without power and nearly flat at once."""
    controller = snapshot.controller
    if snapshot.state != "heard":
        yield ControllerAlarm(kind=snapshot.state, controller=controller, since=snapshot.last_heard)
    power = reader.last_event(("power-lost", "power-back"), controller=controller.id)
    if power is not None and power.kind == "power-lost":
        yield ControllerAlarm(kind="no-power", controller=controller, since=power.at)
    battery = reader.state(BatteryEpisode, controller.id)
    if battery is not None and battery.low_since is not None:
        yield ControllerAlarm(kind="battery-low", controller=controller, since=battery.low_since)
