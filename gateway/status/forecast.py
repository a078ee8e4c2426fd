"""Events and the floats as they stand → what is left in a tank, for how long, and why. The bridge to the water room.

Looks only at what was known at the time asked for; the past that teaches is bounded, so that twenty years cost what one does. Of a box that
fell silent what it told last goes on, less surely with each hour. How urgent a text is, what it says and what is due after it ask for one
and the same forecast: it is reckoned once.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from functools import wraps
from typing import ParamSpec, TypeVar

from gateway.facts.states.people import InflowSaid
from gateway.ports import Reader
from gateway.settings.water_tables import Demand, Tank
from gateway.site import Site
from gateway.status.levels import litres_of
from gateway.status.presence import demand_now, presence_now
from gateway.status.snapshot import Snapshot, TankSnapshot, take_snapshot, told_last
from gateway.water.demand import demand_l_day
from gateway.water.fill_time import longest_refill
from gateway.water.learning import LEARNT_KINDS, Learner
from gateway.water.learnt import Learnt
from gateway.water.level_flows import Level
from gateway.water.tank_now import FloatSeen, TankNow
from gateway.water.tank_outlook import TankOutlook, first_low, outlook

TankForecast = TankOutlook
EVENTS_LEARNT_FROM = 400
Asked = ParamSpec("Asked")
Answer = TypeVar("Answer")
_learner = Learner()


def _reckoned_once(question: Callable[Asked, Answer]) -> Callable[Asked, Answer]:
    """Asked the same again, it gives its last answer. What is asked of is compared, never only taken for unchanged."""
    last: tuple[object, Answer] | None = None

    @wraps(question)
    def ask(*about: Asked.args, **named: Asked.kwargs) -> Answer:
        nonlocal last
        kept = last
        if kept is None or kept[0] != (about, named):
            kept = last = (about, named), question(*about, **named)
        return kept[1]

    return ask


def forecasts(reader: Reader, site: Site, snapshot: Snapshot) -> Mapping[str, TankForecast]:
    """Every tank's forecast at the time of the look."""
    states = _tanks_now(reader, site, snapshot)
    demand, inflow_said = demand_now(reader, site, snapshot.at), _inflow_said(reader, states, snapshot.at)
    learnt = learnt_of(reader, site, snapshot.at)
    if _drew_so_before(reader, states, snapshot.at):
        learnt = replace(learnt, figure_l_day=demand_l_day(demand))
    return _outlook(site, demand, states, learnt, inflow_said, snapshot.at)


def _drew_so_before(reader: Reader, states: Mapping[str, TankNow], at: datetime) -> bool:
    """Whether so many drew water already, by somebody's word, when the first float of this trouble switched: what was seen of it is theirs.
    Not of an empty house: what goes there is held against the usual use."""
    now = presence_now(reader, at)
    switched = [since for tank in states.values() for seen in tank.floats if (since := seen.below_since) is not None]
    return now is not None and bool(now.people) and bool(switched) and now.since <= min(switched)


@_reckoned_once
def _outlook(
    site: Site,
    demand: Demand,
    states: Mapping[str, TankNow],
    learnt: Learnt,
    inflow_said: tuple[str, bool] | None,
    at: datetime,
) -> Mapping[str, TankForecast]:
    def say(moment: datetime) -> str:
        return site.phrases.format_time(moment, at, site.zone)

    settings = site.settings.model_copy(update={"demand": demand})
    return outlook(settings, states, learnt, at, site.zone, say, inflow_said)


def asked_about(reader: Reader, site: Site, snapshot: Snapshot) -> tuple[Tank, datetime] | None:
    """The tank of which it is asked whether water runs into it, the one that has been low for longest, and since when it is."""
    states = _tanks_now(reader, site, snapshot)
    tank = first_low(states)
    since = states[tank].since if tank is not None else None
    return (site.tanks[tank], since) if tank is not None and since is not None else None


def _inflow_said(reader: Reader, states: Mapping[str, TankNow], at: datetime) -> tuple[str, bool] | None:
    """What somebody answered of it since that tank is low, as was known then."""
    said, asked = reader.state(InflowSaid), first_low(states)
    since = states[asked].since if asked is not None else None
    if said is None or said.tank != asked or since is None or not since <= said.at <= at:
        return None
    return said.tank, said.runs


def longest_refill_of(reader: Reader, site: Site, tank: Tank, at: datetime) -> timedelta | None:
    """How long that tank takes from empty to full at the longest, as was known then; None where that cannot be reckoned."""
    snapshot = take_snapshot(reader, site, at, numbers=False)
    return longest_refill(
        site.settings, _tanks_now(reader, site, snapshot), tank, learnt_of(reader, site, at), at, site.zone
    )


def forecast_of(reader: Reader, site: Site, tank: str, at: datetime) -> TankForecast | None:
    """One tank's forecast as of then."""
    return forecasts(reader, site, take_snapshot(reader, site, at, numbers=False)).get(tank)


def as_told(
    reader: Reader, outlooks: Mapping[str, TankForecast], *, by: datetime | None = None
) -> dict[str, TankForecast]:
    """The same, with the early edge that was told since a tank is low where that is sooner than today's: nobody has looked since. `by`: of
    alarms that had been raised by then."""
    lows = (alarm for alarm in reader.alarms() if alarm.kind == "low" and (by is None or alarm.raised_at <= by))
    told = [(alarm.tank, alarm.dry_early) for alarm in lows]
    sooner: dict[str, TankForecast] = {}
    for tank, forecast in outlooks.items():
        if forecast.dry_at is not None:
            early, likely, late = forecast.dry_at
            early = min([early, *(edge for of_tank, edge in told if of_tank == tank and edge is not None)])
            forecast = replace(forecast, dry_at=(early, likely, late))
        sooner[tank] = forecast
    return sooner


def learnt_of(reader: Reader, site: Site, at: datetime) -> Learnt:
    """What the past known by then teaches."""
    return _learner.learn(reader.past(LEARNT_KINDS, known_by=at, limit=EVENTS_LEARNT_FROM), site.settings, site.zone)


def _tanks_now(reader: Reader, site: Site, snapshot: Snapshot) -> dict[str, TankNow]:
    heard = {box.controller.id for box in snapshot.controllers if box.state == "heard"}
    tanks = {}
    for tank in snapshot.tanks:
        until = snapshot.heard_until(tank) if tank.state == "unknown" else None
        if until is not None:
            tank = told_last(reader, site, snapshot, tank.tank)
        tanks[tank.tank.id] = _tank_now(tank, heard, _levels(reader, tank, snapshot.at), until)
    return tanks


def _levels(reader: Reader, tank: TankSnapshot, at: datetime) -> Sequence[Level]:
    """What its gauge read lately, in litres; of several the first that counts."""
    heard = next((gauge for gauge in tank.gauges if gauge.is_heard), None)
    return litres_of(reader, heard.placed, at) if heard is not None else ()


def _tank_now(
    snapshot: TankSnapshot, heard: Collection[str], levels: Sequence[Level], until: datetime | None
) -> TankNow:
    floats = tuple(
        FloatSeen(
            means=of_tank.now.means,
            level_m=of_tank.placed.float.level_m,
            state=of_tank.now.state,
            since=of_tank.now.since,
        )
        for of_tank in snapshot.floats
    )
    floats += tuple(
        FloatSeen(
            means=side.means,
            level_m=gauge.placed.gauge.low_m if side.means == "low" else gauge.placed.gauge.high_m,
            state=side.state,
            since=side.since,
        )
        for gauge in snapshot.gauges
        for side in gauge.now
    )
    boxes = [of_tank.placed.float.controller for of_tank in snapshot.floats]
    boxes += [gauge.placed.gauge.controller for gauge in snapshot.gauges]
    quiet = snapshot.state == "unknown" and all(box in heard for box in boxes)
    return TankNow(
        state=snapshot.state,
        since=snapshot.since,
        floats=floats,
        said_nothing=quiet,
        levels=levels,
        heard_until=until,
    )
