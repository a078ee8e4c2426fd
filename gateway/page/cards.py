"""A site as it stands → the cards of the page's first part: every tank from the house upwards, the source, every controller."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from gateway.facts import NUMBER_FIELDS, NumberField
from gateway.page.local_calendar import when
from gateway.page.power_words import battery_words
from gateway.page.tank_pictures import (
    FloatMark,
    Outline,
    WaterBand,
    float_marks,
    gauge_marks,
    litres_words,
    outline_of,
    water_band,
)
from gateway.phrases.phrasebook import When
from gateway.ports import Reader
from gateway.settings.water_tables import RamPump, Tank
from gateway.site import Site
from gateway.status.battery import battery_now
from gateway.status.forecast import TankForecast
from gateway.status.site_standing import SiteStanding, dry_or_full
from gateway.status.snapshot import ControllerSnapshot, TankSnapshot
from gateway.water.demand import demand_l_day
from gateway.water.inflow import delivered_l_min

LEAST_TOLD = 3
"""That one or two forecasts held says nothing of the next."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TankCard:
    """One tank: its picture, how it stands in words, what is known of its water, and what is reckoned of it."""

    id: str
    name: str
    state: str
    state_words: str
    since: str
    outline: Outline
    marks: tuple[FloatMark, ...]
    water: WaterBand | None
    known: tuple[str, ...]
    reckoned: tuple[str, ...]
    fed_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ControllerCard:
    """One controller. `facts`: label and value of each thing that is known of it; `reckoned`: how its battery goes."""

    id: str
    name: str
    state: str
    state_words: str
    facts: tuple[tuple[str, str], ...]
    reckoned: str


def tank_cards(standing: SiteStanding) -> tuple[tuple[TankCard, ...], ...]:
    """The tanks from the house up to the source; those equally far from the source stand together."""
    tanks = standing.site.tanks
    stages: dict[int, list[TankCard]] = {}
    for snapshot in standing.snapshot.tanks:
        stage = _steps_from_source(tanks, snapshot.tank.id, {})
        stages.setdefault(stage, []).append(_tank_card(standing, snapshot))
    return tuple(tuple(cards) for _, cards in sorted(stages.items(), reverse=True))


def controller_cards(reader: Reader, standing: SiteStanding) -> tuple[ControllerCard, ...]:
    """Every controller, in the order of the configuration."""
    return tuple(
        _controller_card(reader, standing.site, snapshot, standing.at) for snapshot in standing.snapshot.controllers
    )


def source_words(site: Site) -> str:
    """What feeds the first tank."""
    pump = site.settings.source.pump
    if pump is None:
        return site.phrases.page("source.none")
    flow = site.phrases.format_number(delivered_l_min(pump), 1)
    return site.phrases.page("source.ram" if isinstance(pump, RamPump) else "source.steady", flow=flow)


def use_words(site: Site) -> str:
    """What the household uses."""
    use_l_day = demand_l_day(site.settings.demand)
    return site.phrases.page("use.some", litres=f"{use_l_day:.0f}") if use_l_day else site.phrases.page("use.none")


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
    state = snapshot.state if snapshot.is_watched else "not-watched"
    is_unknown = snapshot.state == "unknown"
    # Of an unknown tank the forecast is old: no water is drawn rather than water that may be gone.
    litres = "" if is_unknown else litres_words(site, snapshot, forecast.litres)
    known = (litres if forecast.litres is None else "", *_known(standing, snapshot))
    reckoned = (litres if forecast.litres else "", *_foretold(standing, tank.id))
    return TankCard(
        id=tank_anchor(tank.id),
        name=tank.name,
        state=state,
        state_words=site.phrases.label(state) + paused,
        since=_since(standing, snapshot),
        outline=outline_of(tank.shape),
        marks=(*float_marks(site, snapshot), *gauge_marks(site, snapshot)),
        water=None if is_unknown else water_band(snapshot, forecast.litres),
        known=tuple(words for words in known if words),
        reckoned=tuple(words for words in reckoned if words),
        fed_by=site.phrases.page("fed.by", names=listed(site, upstream))
        if upstream
        else site.phrases.page("fed.source"),
    )


def _foretold(standing: SiteStanding, tank: str) -> Iterator[str]:
    """When it is dry or full, and how often such forecasts held."""
    words = forecast_words(standing.site, standing.forecasts[tank], standing.at)
    kept = standing.held.get(tank)
    if words:
        yield words
    if words and kept is not None and len(kept.held) >= LEAST_TOLD:
        yield standing.site.phrases.page("outlook.held", held=sum(kept.held), count=len(kept.held))


def _since(standing: SiteStanding, snapshot: TankSnapshot) -> str:
    """Since when it stands so; of one of which nothing is known, since when that is."""
    site, since = standing.site, snapshot.since
    if snapshot.state == "unknown" and snapshot.is_watched:
        since = standing.snapshot.heard_until(snapshot)
        if since is None:
            return site.phrases.page("card.never-told")
    return site.phrases.page("card.since", since=When(since, standing.at, site.zone)) if since is not None else ""


def _known(standing: SiteStanding, snapshot: TankSnapshot) -> Iterator[str]:
    """What a gauge measured."""
    site, measured = standing.site, snapshot.measured
    if measured is None:
        return
    values: dict[str, object] = {
        "level": site.phrases.format_number(measured.level_m),
        "at": When(measured.at, standing.at, site.zone),
    }
    if measured.litres is None:
        yield site.phrases.page("card.measured", **values)
    else:
        yield site.phrases.page("card.measured-litres", litres=f"{measured.litres:.0f}", **values)


def _controller_card(reader: Reader, site: Site, snapshot: ControllerSnapshot, now: datetime) -> ControllerCard:
    battery = battery_now(reader, site, snapshot.controller, now)
    return ControllerCard(
        id=controller_anchor(snapshot.controller.id),
        name=snapshot.controller.name,
        state=snapshot.state,
        state_words=site.phrases.label(snapshot.state),
        facts=tuple(_facts(site, snapshot, now)),
        reckoned=battery_words(site, battery, now) if battery else "",
    )


def _facts(site: Site, snapshot: ControllerSnapshot, now: datetime) -> Iterator[tuple[str, str]]:
    """What nobody told is left out."""
    words = site.phrases.page_table("box")
    if snapshot.last_heard is not None:
        yield words["heard"], when(site, snapshot.last_heard, now)
    if snapshot.limit is not None:
        yield words["limit"], site.phrases.format_span(snapshot.limit)
    for entry in NUMBER_FIELDS.values():
        if entry.overview and entry.name in snapshot.numbers:
            yield words.get(entry.name, entry.label), number_words(site, entry, snapshot.numbers[entry.name])


def number_words(site: Site, field: NumberField, value: float) -> str:
    """`12.6 V`."""
    if field.name == "volts":
        return site.phrases.format_volts(value)
    return f"{site.phrases.format_number(value)} {field.unit}".rstrip()
