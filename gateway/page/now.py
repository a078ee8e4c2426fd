"""How everything stands → the page's first part: what is not well and what to do, every tank, every controller, open call-outs."""

from collections.abc import Mapping
from datetime import datetime

from gateway.alarms import CallOut
from gateway.facts import NUMBER_FIELDS, NumberField
from gateway.page import AlarmView, BoxView, TankView
from gateway.page.ids import box_id, tank_id
from gateway.page.vessels import floats_of, litres_said, vessel_of, water_of
from gateway.ports import Reader
from gateway.power.watch import BatteryEpisode
from gateway.settings.durations import spoken
from gateway.settings.models import RamPump
from gateway.site import Site
from gateway.status.battery import battery_now, battery_said
from gateway.status.forecast import TankForecast
from gateway.status.snapshot import ControllerSnapshot, Snapshot, TankSnapshot
from gateway.status.troubles import trouble_since, troubles
from gateway.water.demand import demand_l_day
from gateway.water.inflow import delivered_l_min

Forecasts = Mapping[str, TankForecast]


def alarms(reader: Reader, site: Site, seen: Snapshot, known: Forecasts) -> tuple[AlarmView, ...]:
    """Everything that is not well, the weightiest first: low tanks, controllers, the gateway, tanks of which nothing is known."""
    now = seen.at
    found = [_low(reader, site, one, known[one.tank.id], now) for one in seen.tanks if one.state == "low"]
    found += [one for box in seen.controllers for one in _box_alarms(reader, site, box, now)]
    found += [
        AlarmView(
            where="The gateway:", what=f"{site.phrases.label(kind)}{_since(site, trouble_since(reader, kind), now)}."
        )
        for kind in troubles(reader)
    ]
    unknown = [one for one in seen.tanks if one.state == "unknown"]
    found += [
        AlarmView(where=one.tank.name, what="is unknown: its floats were not heard of.", link=tank_id(one.tank.id))
        for one in unknown
    ]
    return tuple(found)


def headline(seen: Snapshot, found: tuple[AlarmView, ...]) -> str:
    """The page in one line."""
    if not found:
        return "All is well"
    low = [one.tank.name for one in seen.tanks if one.state == "low"]
    first = f"{_listed(low)} {'is' if len(low) == 1 else 'are'} LOW" if low else ""
    others = len(found) - len(low)
    if not low:
        first, others = f"{found[0].where} {found[0].what.rstrip('.')}", others - 1
    more = f", and {others} more {'matter' if others == 1 else 'matters'}" if others else ""
    return f"{first}{more}"


def call_outs(reader: Reader, site: Site, now: datetime) -> tuple[str, ...]:
    """Every open call-out and who has it."""
    said = []
    for row in reader.call_outs():
        one = CallOut.from_json(row.data)
        about = _listed([f"{_name(site, alarm.about)} {site.phrases.label(alarm.kind)}" for alarm in one.alarms])
        opened = site.phrases.time(one.opened_at, now, site.zone)
        if one.taken_by:
            who = f"{site.contact_name(one.taken_by)} sees to it{_since(site, one.taken_at, now)}"
        else:
            told = _listed([site.contact_name(contact) or contact for contact in one.told])
            who = f"told {told or 'nobody yet'}; nobody took it yet"
        said.append(f"Open since {opened}: {about}; {who}.")
    return tuple(said)


def stages(site: Site, seen: Snapshot, known: Forecasts) -> tuple[tuple[TankView, ...], ...]:
    """The tanks from the source down to the house; those equally far from the source stand together."""
    depth: dict[str, int] = {}

    def of(tank: str) -> int:
        if tank not in depth:
            depth[tank] = 0
            depth[tank] = 1 + max((of(one) for one in site.tanks[tank].fed_by if one in site.tanks), default=0)
        return depth[tank]

    steps: dict[int, list[TankView]] = {}
    for one in seen.tanks:
        steps.setdefault(of(one.tank.id), []).append(_tank(site, one, known[one.tank.id], seen.at))
    return tuple(tuple(tanks) for _, tanks in sorted(steps.items()))


def boxes(reader: Reader, site: Site, seen: Snapshot) -> tuple[BoxView, ...]:
    """Every controller."""
    return tuple(_box(reader, site, one, seen.at) for one in seen.controllers)


def source_said(site: Site) -> str:
    """What feeds the first tank."""
    pump = site.settings.source.pump
    if pump is None:
        return "Not configured."
    what = "A ram pump" if isinstance(pump, RamPump) else "A steady flow"
    return f"{what}: about {delivered_l_min(pump):.1f} l/min by its figures."


def use_said(site: Site) -> str:
    """What the household uses."""
    use = demand_l_day(site.settings.demand)
    return f"Uses about {use:.0f} l a day by its figures." if use else "No use is configured."


def _low(reader: Reader, site: Site, one: TankSnapshot, known: TankForecast, now: datetime) -> AlarmView:
    forecast = forecast_said(site, known, now)
    dry = reader.last_event(("ran-dry",), tank=one.tank.id)
    if dry is not None and one.since is not None and dry.at >= one.since:
        forecast = f"Its taps ran DRY: told {site.phrases.time(dry.at, now, site.zone)}."
    advice = site.phrases.one("advice", known.advice)
    because = known.cause.because if known.cause else ""
    paused = (
        f" Work on it goes on until {site.phrases.time(one.paused_until, now, site.zone)}." if one.paused_until else ""
    )
    return AlarmView(
        where=one.tank.name,
        what=f"is LOW{_since(site, one.since, now)}.{paused}",
        more=tuple(said for said in (" ".join(part for part in (forecast, because) if part), advice) if said),
        link=tank_id(one.tank.id),
    )


def _box_alarms(reader: Reader, site: Site, box: ControllerSnapshot, now: datetime) -> list[AlarmView]:
    id, name = box.controller.id, box.controller.name
    found = []
    if box.state == "silent":
        found.append(f"is SILENT: not heard{_since(site, box.last_heard, now)}.")
    elif box.state == "never-heard":
        found.append("was never heard.")
    power = reader.last_event(("power-lost", "power-back"), controller=id)
    if power is not None and power.kind == "power-lost":
        found.append(f"has no power{_since(site, power.at, now)}.")
    low = BatteryEpisode.from_json(reader.mark(f"battery:{id}")).low_since
    if low is not None:
        found.append(f"has a LOW battery{_since(site, low, now)}.")
    return [AlarmView(where=name, what=what, link=box_id(id)) for what in found]


def _tank(site: Site, seen: TankSnapshot, known: TankForecast, now: datetime) -> TankView:
    fed = [site.tanks[one].name for one in seen.tank.fed_by if one in site.tanks]
    paused = f" ({site.phrases.label('paused')})" if seen.paused_until else ""
    return TankView(
        id=tank_id(seen.tank.id),
        name=seen.tank.name,
        state=seen.state,
        state_said=site.phrases.label(seen.state) + paused,
        since=_since(site, seen.since, now).strip(),
        vessel=vessel_of(seen.tank.shape),
        floats=floats_of(seen),
        water=water_of(seen, known.litres) if seen.state != "unknown" else None,
        litres=litres_said(seen, known.litres),
        forecast=forecast_said(site, known, now),
        fed_by=f"Fed by {_listed(fed)}." if fed else "Fed by the source.",
    )


def forecast_said(site: Site, known: TankForecast, now: datetime) -> str:
    """When it is dry or full, with the range."""
    times, word = (known.dry_at, "Dry") if known.dry_at else (known.full_at, "Full")
    if times is None:
        return ""
    early, likely, late = (site.phrases.time(at, now, site.zone) for at in times)
    if times[1] <= now:
        return f"Probably dry since about {likely}." if known.dry_at else "Probably full by now."
    return f"{word} about {likely} (between {early} and {late}, four times in five)."


def _box(reader: Reader, site: Site, seen: ControllerSnapshot, now: datetime) -> BoxView:
    found = battery_now(reader, site, seen.controller, now)
    limit = f"for {spoken(seen.limit)}" if seen.limit else "for ever"
    return BoxView(
        id=box_id(seen.controller.id),
        name=seen.controller.name,
        state=seen.state,
        state_said=site.phrases.label(seen.state),
        heard=site.phrases.time(seen.last_heard, now, site.zone) if seen.last_heard else "never",
        limit=limit,
        numbers=tuple((entry.label, _number(entry, seen)) for entry in NUMBER_FIELDS.values() if entry.overview),
        battery=battery_said(site, found, now) if found else "",
    )


def _number(number_field: NumberField, seen: ControllerSnapshot) -> str:
    value = seen.numbers.get(number_field.name)
    return "not told" if value is None else number_field.shown(value)


def _name(site: Site, what: str) -> str:
    return site.tanks[what].name if what in site.tanks else site.controller_name(what) or what


def _since(site: Site, at: datetime | None, now: datetime) -> str:
    return f" since {site.phrases.time(at, now, site.zone)}" if at else ""


def _listed(names: list[str]) -> str:
    """`a, b and c`."""
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
