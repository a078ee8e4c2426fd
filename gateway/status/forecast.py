"""Events and the floats as they stand → what is left in a tank, for how long, and why. The bridge to the water room.

Looks only at what was known at the time asked for; the past that teaches is bounded, so that twenty years cost what one does.
"""

from collections.abc import Collection, Sequence
from datetime import datetime, timedelta

from gateway.facts.states import InflowSaid
from gateway.ports import Reader
from gateway.settings.models import Tank
from gateway.site import Site
from gateway.status.levels import litres_of
from gateway.status.presence import demand_now
from gateway.status.snapshot import Snapshot, TankSnapshot, take_snapshot
from gateway.water.fill_time import longest_refill
from gateway.water.learnt import LEARNT_KINDS, Learnt, learn
from gateway.water.level_flows import Level
from gateway.water.tank_now import FloatSeen, TankNow
from gateway.water.tank_outlook import TankOutlook, outlook

TankForecast = TankOutlook
EVENTS_LEARNT_FROM = 400


def forecasts(reader: Reader, site: Site, snapshot: Snapshot) -> dict[str, TankForecast]:
    """Every tank's forecast at the time of the look."""
    states = _tanks_now(reader, snapshot)
    learnt = learnt_of(reader, site, snapshot.at)

    def say(at: datetime) -> str:
        return site.phrases.format_time(at, snapshot.at, site.zone)

    settings = site.settings.model_copy(update={"demand": demand_now(reader, site, snapshot.at)})
    return outlook(settings, states, learnt, snapshot.at, site.zone, say, _inflow_said(reader, site, snapshot))


def asked_about(site: Site, snapshot: Snapshot) -> Tank | None:
    """The tank of which it is asked whether water runs into it: the one that has been low for longest."""
    lows = [(tank.since, tank.tank) for tank in snapshot.tanks if tank.state == "low" and tank.since is not None]
    return min(lows, key=lambda low: low[0])[1] if lows else None


def _inflow_said(reader: Reader, site: Site, snapshot: Snapshot) -> tuple[str, bool] | None:
    """What somebody answered of it since that tank is low, as was known then."""
    said, asked = reader.state(InflowSaid), asked_about(site, snapshot)
    if said is None or asked is None or said.tank != asked.id or not said.at <= snapshot.at:
        return None
    since = next(tank.since for tank in snapshot.tanks if tank.tank.id == asked.id)
    return (said.tank, said.runs) if since is not None and said.at >= since else None


def longest_refill_of(reader: Reader, site: Site, tank: Tank, at: datetime) -> timedelta | None:
    """How long that tank takes from empty to full at the longest, as was known then; None where that cannot be reckoned."""
    snapshot = take_snapshot(reader, site, at, numbers=False)
    return longest_refill(site.settings, _tanks_now(reader, snapshot), tank, learnt_of(reader, site, at), at, site.zone)


def forecast_of(reader: Reader, site: Site, tank: str, at: datetime) -> TankForecast | None:
    """One tank's forecast as of then."""
    return forecasts(reader, site, take_snapshot(reader, site, at, numbers=False)).get(tank)


def learnt_of(reader: Reader, site: Site, at: datetime) -> Learnt:
    """What the past known by then teaches."""
    return learn(reader.past(LEARNT_KINDS, known_by=at, limit=EVENTS_LEARNT_FROM), site.settings, site.zone)


def _tanks_now(reader: Reader, snapshot: Snapshot) -> dict[str, TankNow]:
    heard = {box.controller.id for box in snapshot.controllers if box.state == "heard"}
    return {tank.tank.id: _tank_now(tank, heard, _levels(reader, tank, snapshot.at)) for tank in snapshot.tanks}


def _levels(reader: Reader, tank: TankSnapshot, at: datetime) -> Sequence[Level]:
    """What its gauge read lately, in litres; of several the first that counts now."""
    heard = next((gauge for gauge in tank.gauges if gauge.is_heard), None)
    return litres_of(reader, heard.placed, at) if heard is not None else ()


def _tank_now(snapshot: TankSnapshot, heard: Collection[str], levels: Sequence[Level]) -> TankNow:
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
    return TankNow(state=snapshot.state, since=snapshot.since, floats=floats, said_nothing=quiet, levels=levels)
