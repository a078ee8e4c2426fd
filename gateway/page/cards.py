"""A site as it stands → the cards of the page's first part: the source, every tank down to the house, every controller."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from gateway.facts import NUMBER_FIELDS, NumberField, NumberName
from gateway.page.local_calendar import since, when
from gateway.page.tank_pictures import (
    FloatMark,
    Outline,
    WaterBand,
    float_marks,
    litres_words,
    outline_of,
    water_band,
)
from gateway.phrases.phrasebook import When
from gateway.ports import Reader
from gateway.settings.durations import format_duration
from gateway.settings.models import RamPump, Tank
from gateway.site import Site
from gateway.status.battery import battery_now, battery_said
from gateway.status.forecast import TankForecast
from gateway.status.site_standing import SiteStanding, dry_or_full
from gateway.status.snapshot import ControllerSnapshot, TankSnapshot
from gateway.water.demand import demand_l_day
from gateway.water.inflow import delivered_l_min


@dataclass(frozen=True, slots=True, kw_only=True)
class TankCard:
    """One tank: its picture, how it stands in words, what is in it and when it will be dry or full."""

    id: str
    name: str
    state: str
    state_words: str
    since: str
    outline: Outline
    floats: tuple[FloatMark, ...]
    water: WaterBand | None
    litres: str
    forecast: str
    fed_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ControllerCard:
    """One controller. `limit`: how long it may be silent; `numbers`: label and value of each that its texts tell; `battery`: how its battery
    goes, in a sentence."""

    id: str
    name: str
    state: str
    state_words: str
    heard: str
    limit: str
    numbers: tuple[tuple[str, str], ...]
    battery: str


def tank_cards(standing: SiteStanding) -> tuple[tuple[TankCard, ...], ...]:
    """The tanks from the source down to the house; those equally far from the source stand together."""
    tanks = standing.site.tanks
    stages: dict[int, list[TankCard]] = {}
    for snapshot in standing.snapshot.tanks:
        stage = _steps_from_source(tanks, snapshot.tank.id, {})
        stages.setdefault(stage, []).append(_tank_card(standing, snapshot))
    return tuple(tuple(cards) for _, cards in sorted(stages.items()))


def controller_cards(reader: Reader, standing: SiteStanding) -> tuple[ControllerCard, ...]:
    """Every controller, in the order of the configuration."""
    return tuple(
        _controller_card(reader, standing.site, snapshot, standing.at) for snapshot in standing.snapshot.controllers
    )


def source_words(site: Site) -> str:
    """What feeds the first tank."""
    pump = site.settings.source.pump
    if pump is None:
        return "Not configured."
    kind = "A ram pump" if isinstance(pump, RamPump) else "A steady flow"
    return f"{kind}: about {delivered_l_min(pump):.1f} l/min by its figures."


def use_words(site: Site) -> str:
    """What the household uses."""
    use_l_day = demand_l_day(site.settings.demand)
    return f"Uses about {use_l_day:.0f} l a day by its figures." if use_l_day else "No use is configured."


def forecast_words(site: Site, forecast: TankForecast, now: datetime) -> str:
    """When it is dry or full, with the range; where that is one time, without."""
    coming = dry_or_full(forecast)
    if coming is None:
        return ""
    end, times = coming
    early, likely, late = (When(at, now, site.zone) for at in times)
    if times[1] <= now:
        return site.phrases.page(f"outlook.{end}-past", likely=likely)
    if when(site, times[0], now) == when(site, times[2], now):
        return site.phrases.page(f"outlook.{end}-about", likely=likely)
    return site.phrases.page(f"outlook.{end}", early=early, likely=likely, late=late)


def listed(site: Site, names: Sequence[str]) -> str:
    """`a, b and c`."""
    if len(names) < 2:
        return "".join(names)
    return site.phrases.page("join.and", first=", ".join(names[:-1]), last=names[-1])


def tank_anchor(tank: str) -> str:
    """The id of a tank's card on the page; an id of the configuration may hold anything, one of HTML no space or quote."""
    return f"tank-{tank.encode().hex()}"


def controller_anchor(controller: str) -> str:
    """The id of a controller's card on the page."""
    return f"box-{controller.encode().hex()}"


def _steps_from_source(tanks: Mapping[str, Tank], tank: str, known: dict[str, int]) -> int:
    """How many tanks the water has passed when it comes into this one; the longest way counts."""
    if tank not in known:
        known[tank] = 0  # a circle in `fed_by` ends here rather than never
        feeding = (_steps_from_source(tanks, upstream, known) for upstream in tanks[tank].fed_by if upstream in tanks)
        known[tank] = 1 + max(feeding, default=0)
    return known[tank]


def _tank_card(standing: SiteStanding, snapshot: TankSnapshot) -> TankCard:
    site, tank, forecast = standing.site, snapshot.tank, standing.forecasts[snapshot.tank.id]
    upstream = [site.tanks[feeding].name for feeding in tank.fed_by if feeding in site.tanks]
    paused = f" ({site.phrases.label('paused')})" if snapshot.paused_until else ""
    return TankCard(
        id=tank_anchor(tank.id),
        name=tank.name,
        state=snapshot.state,
        state_words=site.phrases.label(snapshot.state) + paused,
        since=since(site, snapshot.since, standing.at).strip(),
        outline=outline_of(tank.shape),
        floats=float_marks(snapshot),
        # Of an unknown tank the forecast is old: no water is drawn rather than water that may be gone.
        water=water_band(snapshot, forecast.litres) if snapshot.state != "unknown" else None,
        litres=litres_words(snapshot, forecast.litres),
        forecast=forecast_words(site, forecast, standing.at),
        fed_by=f"Fed by {listed(site, upstream)}." if upstream else "Fed by the source.",
    )


def _controller_card(reader: Reader, site: Site, snapshot: ControllerSnapshot, now: datetime) -> ControllerCard:
    battery = battery_now(reader, site, snapshot.controller, now)
    return ControllerCard(
        id=controller_anchor(snapshot.controller.id),
        name=snapshot.controller.name,
        state=snapshot.state,
        state_words=site.phrases.label(snapshot.state),
        heard=when(site, snapshot.last_heard, now) if snapshot.last_heard else "never",
        limit=f"for {format_duration(snapshot.limit)}" if snapshot.limit else "for ever",
        numbers=tuple(
            (entry.label, _number(entry, snapshot.numbers)) for entry in NUMBER_FIELDS.values() if entry.overview
        ),
        battery=battery_said(site, battery, now) if battery else "",
    )


def _number(field: NumberField, numbers: Mapping[NumberName, float]) -> str:
    value = numbers.get(field.name)
    return "not told" if value is None else field.shown(value)
