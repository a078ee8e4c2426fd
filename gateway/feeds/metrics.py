"""The record as it stands → metric families: what a monitoring program of the household may watch. No name of a person, no number.

Ids of tanks and controllers are labels; what is not known has no sample.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import get_args

from gateway import __version__
from gateway.facts.event_kind import Priority
from gateway.facts.states.gateway_itself import ModemCondition
from gateway.feeds.openmetrics import Family, Sample, openmetrics_text
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.gateway_troubles import LASTING, trouble_since
from gateway.status.site_standing import SiteStanding, site_standing
from gateway.status.snapshot import ControllerState
from gateway.tanks.tank_state import TankState

PREFIX = "tank_gateway_"
STARTED = ("gateway-started",)


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreDisk:
    """The store on its disk, in bytes."""

    size: int
    free: int


def metrics_text(reader: Reader, site: Site, now: datetime, disk: StoreDisk | None) -> str:
    """The whole file. `disk` None: the store is a server's."""
    standing = site_standing(reader, site, now)
    families = (
        *_gateway(reader, site, now, disk),
        *_alarms(reader),
        *_tanks(standing),
        *_controllers(standing),
        *_modem(reader),
    )
    return openmetrics_text(families)


def _gateway(reader: Reader, site: Site, now: datetime, disk: StoreDisk | None) -> Iterator[Family]:
    yield Family(
        name=f"{PREFIX}build",
        type="info",
        help="Which version runs, for which site.",
        samples=(Sample(value=1, labels={"version": __version__, "site": site.settings.site.name}),),
    )
    yield _gauge("written_timestamp_seconds", "When this file was written.", [({}, now.timestamp())], unit="seconds")
    troubles = [({"kind": kind}, float(trouble_since(reader, kind) is not None)) for kind in LASTING]
    yield _gauge("trouble", "1 while this is wrong with the gateway itself.", troubles)
    yield _gauge("messages_waiting", "Messages that have not left yet.", [({}, reader.outbox_count())])
    started = reader.last_event(STARTED)
    if started is not None:
        yield Family(
            name=f"{PREFIX}segments_sent",
            type="counter",
            help="Segments handed to the network since the gateway started.",
            samples=(Sample(value=reader.sent_since(started.heard_at), labels={}),),
            created=started.heard_at.timestamp(),
        )
    if disk is not None:
        yield _gauge("store_size_bytes", "How large the record is.", [({}, disk.size)], unit="bytes")
        yield _gauge("store_free_bytes", "How much room its disk has left.", [({}, disk.free)], unit="bytes")


def _alarms(reader: Reader) -> Iterator[Family]:
    standing = [alarm for alarm in reader.alarms() if alarm.state != "folded"]
    counted = [({"priority": name}, sum(alarm.priority == name for alarm in standing)) for name in get_args(Priority)]
    yield _gauge("alarms", "Alarms that stand.", counted)
    yield _gauge("alarms_nobodys", "Alarms that nobody has taken.", [({}, sum(alarm.is_nobodys for alarm in standing))])


def _tanks(standing: SiteStanding) -> Iterator[Family]:
    tanks = standing.snapshot.tanks
    yield _states(
        "tank_state",
        "What a tank's floats and gauges say.",
        "tank",
        {tank.tank.id: tank.state for tank in tanks},
        TankState,
    )
    litres = [
        ({"tank": id, "of": of}, getattr(forecast.litres, of))
        for id, forecast in standing.forecasts.items()
        if forecast.litres is not None
        for of in ("low", "likely", "high")
    ]
    yield _gauge("tank_litres", "Water in a tank; low to high is an 80 % interval.", litres, unit="litres")
    dry = [
        ({"tank": id, "of": of}, at.timestamp())
        for id, forecast in standing.forecasts.items()
        if forecast.dry_at is not None
        for of, at in zip(("early", "likely", "late"), forecast.dry_at, strict=True)
    ]
    yield _gauge(
        "tank_dry_timestamp_seconds", "When a tank runs dry; early to late is an 80 % interval.", dry, unit="seconds"
    )
    levels = [({"tank": tank.tank.id}, tank.measured.level_m) for tank in tanks if tank.measured is not None]
    yield _gauge("tank_level_meters", "What a tank's gauge read last.", levels, unit="meters")


def _controllers(standing: SiteStanding) -> Iterator[Family]:
    boxes = standing.snapshot.controllers
    states = {box.controller.id: box.state for box in boxes}
    yield _states("controller_state", "Whether a controller is heard.", "controller", states, ControllerState)
    heard = [
        ({"controller": box.controller.id}, box.last_heard.timestamp()) for box in boxes if box.last_heard is not None
    ]
    yield _gauge("controller_heard_timestamp_seconds", "When a controller was last heard.", heard, unit="seconds")
    volts = [({"controller": box.controller.id}, box.numbers["volts"]) for box in boxes if "volts" in box.numbers]
    yield _gauge("controller_volts", "What a controller said last of its battery.", volts, unit="volts")


def _modem(reader: Reader) -> Iterator[Family]:
    condition = reader.state(ModemCondition)
    if condition is None:
        return
    if condition.registered is not None:
        yield _gauge("modem_registered", "1 while the network has the modem.", [({}, float(condition.registered))])
    if condition.signal_percent is not None:
        signal: list[tuple[dict[str, str], float]] = [({}, condition.signal_percent / 100)]
        yield _gauge("modem_signal_ratio", "How well the modem hears the network, 0 to 1.", signal, unit="ratio")


def _gauge(name: str, help: str, samples: Iterable[tuple[Mapping[str, str], float]], *, unit: str = "") -> Family:
    shown = tuple(Sample(value=value, labels=labels) for labels, value in samples)
    return Family(name=f"{PREFIX}{name}", type="gauge", help=help, samples=shown, unit=unit)


def _states(name: str, help: str, label: str, of_each: Mapping[str, str], states: object) -> Family:
    """Each state that there is, 1 for the one that holds (OpenMetrics, StateSet: its label is the family's name)."""
    samples = tuple(
        Sample(value=float(state == held), labels={label: id, f"{PREFIX}{name}": state})
        for id, held in of_each.items()
        for state in get_args(states)
    )
    return Family(name=f"{PREFIX}{name}", type="stateset", help=help, samples=samples)
