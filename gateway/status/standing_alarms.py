"""A site as it stands → everything that is not well there, each once, the most urgent first.

Two things tell of it: the record of alarms (who was told, who has it, what goes with it), and the tanks, boxes and the gateway as they stand,
of which there may be no alarm yet (an imported history, an alarm that is over by reckoning). What both tell of is one.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any

from gateway.alarms.matters import RANK, WEIGHT
from gateway.facts import KINDS, Event
from gateway.facts.alarms import GATEWAY, Alarm
from gateway.facts.event_kind import Priority
from gateway.facts.states.controllers_and_tanks import BatteryEpisode, TextsRarer
from gateway.ports import Reader
from gateway.status.alarm_rounds import told_of_it
from gateway.status.dry_taps import tank_of_taps, taps_dry
from gateway.status.gateway_troubles import trouble_since, troubles
from gateway.status.site_standing import SiteStanding
from gateway.status.snapshot import ControllerSnapshot, TankSnapshot

LONG_AGO = datetime(1, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingAlarm:
    """One thing that is not well. `kind`: of an event, or `unknown` (a tank) or `never-heard`; `since` None: nobody knows.

    `alarm`: it on record, None where it is not; `told`: the contacts who were told; `named`: of an input or a reading what it is and says;
    `folded`: what goes with it.
    """

    key: str
    kind: str
    tank: str | None = None
    controller: str | None = None
    since: datetime | None = None
    alarm: Alarm | None = None
    told: tuple[str, ...] = ()
    named: str = ""
    folded: tuple["StandingAlarm", ...] = ()

    @property
    def priority(self) -> Priority:
        """How urgent it is."""
        if self.alarm is not None:
            return self.alarm.priority
        return KINDS[self.kind].priority if self.kind in KINDS else "soon"

    @property
    def weight(self) -> tuple[bool, int, bool, int, datetime, str]:
        """Sorts them by what a household must know first: dry taps before all."""
        at_stake = self.alarm is not None and self.alarm.at_stake
        weight = WEIGHT.get(self.kind, len(WEIGHT))
        return self.kind != "ran-dry", RANK[self.priority], not at_stake, weight, self.since or LONG_AGO, self.key


def standing_alarms(reader: Reader, standing: SiteStanding) -> tuple[StandingAlarm, ...]:
    """Everything that is not well and speaks for itself, with what goes with it."""
    recorded = {alarm.key: alarm for alarm in reader.alarms() if _is_shown(alarm)}
    every = {seen.key: seen for seen in _as_it_stands(reader, standing)}
    every |= {key: _of_record(reader, alarm, every.get(key)) for key, alarm in recorded.items()}
    heads = {alarm.id: key for key, alarm in recorded.items()}
    folded: dict[str, list[StandingAlarm]] = {}
    for alarm in every.values():
        head = _head_of(standing, alarm, every, heads)
        if head is not None:
            folded.setdefault(head, []).append(alarm)
    within = {alarm.key for group in folded.values() for alarm in group}
    shown = [
        replace(alarm, folded=_sorted(folded.get(alarm.key, ()))) for alarm in every.values() if alarm.key not in within
    ]
    return _sorted(shown)


def _sorted(alarms: Iterable[StandingAlarm]) -> tuple[StandingAlarm, ...]:
    return tuple(sorted(alarms, key=lambda alarm: alarm.weight))


def _is_shown(alarm: Alarm) -> bool:
    """Not what is only for the record, unless somebody has it; nor what is over by reckoning, but for dry taps: nobody said that the water is
    safe."""
    if alarm.state == "reckoned-over":
        return alarm.kind == "ran-dry"
    return alarm.priority != "record" or alarm.taken_by is not None


def _of_record(reader: Reader, alarm: Alarm, seen: StandingAlarm | None) -> StandingAlarm:
    """As it is on record; what stands now tells its kind better (`never-heard`)."""
    event = reader.event(alarm.event) if alarm.event is not None else None
    base = seen or StandingAlarm(
        key=alarm.key, kind=alarm.kind, tank=alarm.tank, controller=alarm.controller, since=alarm.since
    )
    return replace(base, alarm=alarm, told=tuple(told_of_it(reader, alarm)), named=_named(event))


def _named(event: Event | None) -> str:
    """`Lid is open`, of an input of its own; what a reading is called."""
    detail: Mapping[str, Any] = event.detail if event is not None else {}
    return " ".join(str(detail[key]) for key in ("name", "says") if detail.get(key))


def _head_of(
    standing: SiteStanding,
    shown: StandingAlarm,
    every: Mapping[str, StandingAlarm],
    heads: Mapping[int | None, str],
) -> str | None:
    """The key of the alarm that tells of this one too. A tank of which nothing is known follows from its silent box, which says more."""
    if shown.alarm is not None:
        return heads.get(shown.alarm.folded_in) if shown.alarm.state == "folded" else None
    if shown.kind != "unknown" or shown.tank is None:
        return None
    boxes = (placed.float.controller for placed in standing.site.floats_of(shown.tank))
    gauges = (placed.gauge.controller for placed in standing.site.gauges_of(shown.tank))
    return next((f"silence:{box}" for box in (*boxes, *gauges) if f"silence:{box}" in every), None)


def _as_it_stands(reader: Reader, standing: SiteStanding) -> Iterator[StandingAlarm]:
    """What the tanks, the boxes and the gateway show by themselves."""
    dry = taps_dry(reader)
    if dry is not None:
        house = tank_of_taps(reader, standing.site, standing.snapshot.at)
        about = house.id if house is not None else GATEWAY
        yield StandingAlarm(key=f"dry:{about}", kind="ran-dry", tank=about, since=dry.since)
    for tank in standing.snapshot.tanks:
        yield from _of_tank(tank)
    for controller in standing.snapshot.controllers:
        yield from _of_controller(reader, controller)
    for kind in troubles(reader):
        family = KINDS[kind].opens if kind in KINDS else None
        yield StandingAlarm(key=f"{family or kind}:{GATEWAY}", kind=kind, since=trouble_since(reader, kind))


def _of_tank(snapshot: TankSnapshot) -> Iterator[StandingAlarm]:
    tank = snapshot.tank.id
    if snapshot.state == "low":
        yield StandingAlarm(key=f"low:{tank}", kind="low", tank=tank, since=snapshot.since)
    elif snapshot.state == "unknown" and snapshot.is_watched:
        yield StandingAlarm(key=f"unknown:{tank}", kind="unknown", tank=tank)


def _of_controller(reader: Reader, snapshot: ControllerSnapshot) -> Iterator[StandingAlarm]:
    """Each by itself: a box may be silent, without power and nearly flat at once."""
    box = snapshot.controller.id
    if snapshot.state != "heard":
        yield StandingAlarm(key=f"silence:{box}", kind=snapshot.state, controller=box, since=snapshot.last_heard)
    losses = reader.state(TextsRarer, box)
    if losses is not None:
        yield StandingAlarm(key=f"losses:{box}", kind="texts-rarer", controller=box, since=losses.told_at)
    power = reader.last_event(("power-lost", "power-back"), controller=box)
    if power is not None and power.kind == "power-lost":
        yield StandingAlarm(key=f"power:{box}", kind="power-lost", controller=box, since=power.at)
    battery = reader.state(BatteryEpisode, box)
    if battery is not None and battery.low_since is not None:
        yield StandingAlarm(key=f"battery:{box}", kind="battery-low", controller=box, since=battery.low_since)
