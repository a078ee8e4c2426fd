"""A site as it stands → whether its taps will run dry, by when, how sure that is, and who sees to it: the first line of a page.

The verdict hangs on the tank that feeds the house; where several do, on the worst of them. What nobody can know is said as that.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from gateway.facts.kinds import kinds_where
from gateway.ports import Reader
from gateway.settings.water_tables import Tank
from gateway.site import Site
from gateway.status.dry_taps import taps_dry
from gateway.status.forecast import learnt_of
from gateway.status.gateway_troubles import trouble_since
from gateway.status.presence import demand_now
from gateway.status.site_standing import SiteStanding
from gateway.status.standing_alarms import StandingAlarm
from gateway.water.demand import day_shares, demand_l_day

TapsState = Literal[
    "dry", "dry-by-now", "may-run-dry", "low", "unseen", "never-told", "unwatched", "stands", "lasts", "holds"
]
"""`low`: the tank is low, and for how long it lasts cannot be reckoned; `lasts`: until the early edge of a forecast that is days away;
`holds`: even if nothing more comes; `stands`: there is water, for how long cannot be reckoned."""
GRAVEST: tuple[TapsState, ...] = (
    "dry", "dry-by-now", "may-run-dry", "low", "unseen", "never-told", "lasts", "holds", "stands", "unwatched"
)  # fmt: skip
FORETOLD = timedelta(days=3)
"""What may run dry later than this is no reason to be woken, unless the tank is low."""
SURELY = 0.9
"""Of the normal distribution: nine cases in ten lie below so many standard deviations over the middle."""
HOUR, DAY, LONGEST = timedelta(hours=1), timedelta(days=1), timedelta(days=60)
SAID_IN_DAYS = 2 * DAY
DEAF = kinds_where(lambda kind: kind.lasts and kind.opens in ("modem", "sim", "signal", "memory", "unread-memory"))
"""While one of these lasts no text comes in."""

Times = tuple[datetime, datetime, datetime]


@dataclass(frozen=True, slots=True, kw_only=True)
class TapsVerdict:
    """`tank`: on which it hangs; `since`: of dry taps and a low tank when that began, of an unseen one when it was last heard of; `by`: who said
    that they are dry; `times`: when it may be dry (early, likely, late), of an unseen one by what it told last; `least`: there is
    water for so long. `deaf_since`: from then on nothing can have been heard. `matter`: the alarm that tells who sees to it."""

    state: TapsState
    tank: str | None = None
    since: datetime | None = None
    by: str = ""
    times: Times | None = None
    least: timedelta | None = None
    deaf_since: datetime | None = None
    matter: StandingAlarm | None = None

    @property
    def is_well(self) -> bool:
        """Whether there is nothing to be done about the taps."""
        return self.state in ("lasts", "holds", "stands")


def taps_verdict(reader: Reader, standing: SiteStanding, alarms: Iterable[StandingAlarm]) -> TapsVerdict:
    """`alarms`: what stands, the most urgent first."""
    dry = taps_dry(reader)
    if dry is not None:
        verdict = TapsVerdict(state="dry", since=dry.since, by=dry.by)
    else:
        of_tanks = (_of_tank(reader, standing, tank) for tank in standing.site.house_tanks())
        verdict = min(of_tanks, key=_gravest_first, default=TapsVerdict(state="unwatched"))
    deaf = min((since for kind in DEAF if (since := trouble_since(reader, kind)) is not None), default=None)
    return replace(verdict, deaf_since=deaf, matter=_matter(standing.site, verdict, alarms))


def _ids(tanks: Iterable[Tank]) -> set[str]:
    return {tank.id for tank in tanks}


def _gravest_first(verdict: TapsVerdict) -> tuple[int, float]:
    """Of two that stand alike the one that is dry sooner."""
    if verdict.times is not None:
        return GRAVEST.index(verdict.state), verdict.times[0].timestamp()
    return GRAVEST.index(verdict.state), verdict.least.total_seconds() if verdict.least is not None else math.inf


def _of_tank(reader: Reader, standing: SiteStanding, tank: str) -> TapsVerdict:
    snapshot, forecast, now = standing.snapshot.tank(tank), standing.forecasts[tank], standing.at
    if not snapshot.is_watched:
        return TapsVerdict(state="unwatched", tank=tank)
    if snapshot.state == "unknown":
        heard = standing.snapshot.heard_until(snapshot)
        if heard is None:  # a box that is heard but never told of this tank tells nothing
            return TapsVerdict(state="never-told", tank=tank)
        return TapsVerdict(state="unseen", tank=tank, since=heard, times=forecast.dry_at)
    verdict = TapsVerdict(state="stands", tank=tank)
    if forecast.dry_at is not None:
        early, likely, _ = forecast.dry_at
        if likely <= now:
            return replace(verdict, state="dry-by-now", times=forecast.dry_at)
        if snapshot.state == "low" or early - now <= FORETOLD:
            return replace(verdict, state="may-run-dry", times=forecast.dry_at)
        return replace(verdict, state="lasts", least=_rounded_down(early - now))
    if snapshot.state == "low":
        return replace(verdict, state="low", since=snapshot.since)
    least = _held_for(reader, standing, forecast.litres.low) if forecast.litres is not None else timedelta(0)
    return replace(verdict, state="holds", least=least) if least >= HOUR else verdict


def _held_for(reader: Reader, standing: SiteStanding, litres: float) -> timedelta:
    """How long so much lasts at the least if nothing more comes: with the use as high as it is in one case of ten, by as many as draw now, and
    never by fewer than are configured, for who is away comes back."""
    site, now = standing.site, standing.at
    use = learnt_of(reader, site, now).use
    figure = max(demand_l_day(demand) for demand in (site.settings.demand, demand_now(reader, site, now)))
    use_l_day = figure * math.exp(use.of_a_day(SURELY))
    held = timedelta(0)
    while use_l_day > 0 and held < LONGEST and day_shares(now, now + held + HOUR, site.zone) * use_l_day <= litres:
        held += HOUR
    return _rounded_down(held)


def _rounded_down(span: timedelta) -> timedelta:
    """To whole hours, from two days on to whole days: never more than there is."""
    unit = DAY if span >= SAID_IN_DAYS else HOUR
    return span // unit * unit


def _matter(site: Site, verdict: TapsVerdict, alarms: Iterable[StandingAlarm]) -> StandingAlarm | None:
    """What somebody sees to when they see to the taps: the dry taps, a low tank on the way to them, a silent box that watches them."""
    if verdict.is_well:
        return None
    way = {verdict.tank, *site.upstream.get(verdict.tank or "", ())} if verdict.tank else set(site.tanks)
    if verdict.state in ("unseen", "never-told"):
        watching = {box.id for box in site.settings.controllers if verdict.tank in _ids(site.tanks_of(box.id))}
        about = [alarm for alarm in alarms if alarm.controller in watching and alarm.kind in ("silent", "never-heard")]
    else:
        about = [alarm for alarm in alarms if alarm.tank in way and alarm.kind in ("ran-dry", "low")]
    return next(iter(about), None)
