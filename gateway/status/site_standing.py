"""A site as it was known at a time: its snapshot and each tank's forecast, for whoever shows a whole site."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from gateway.facts.states.controllers_and_tanks import ForecastsHeld
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.forecast import TankForecast, as_told, forecasts
from gateway.status.snapshot import Snapshot, take_snapshot


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteStanding:
    """One site at the time of its snapshot; `forecasts`, with the early edges that were told, and whether the last of them held, by the
    tank's id."""

    site: Site
    snapshot: Snapshot
    forecasts: Mapping[str, TankForecast]
    held: Mapping[str, ForecastsHeld] = field(default_factory=dict)

    @property
    def at(self) -> datetime:
        """The time it is about."""
        return self.snapshot.at


def site_standing(reader: Reader, site: Site, at: datetime) -> SiteStanding:
    """The site as it was known at that time."""
    snapshot = take_snapshot(reader, site, at)
    outlooks = as_told(reader, forecasts(reader, site, snapshot), by=at)
    return SiteStanding(site=site, snapshot=snapshot, forecasts=outlooks, held=reader.states(ForecastsHeld))


def dry_or_full(
    forecast: TankForecast,
) -> tuple[Literal["dry", "full"], tuple[datetime, datetime, datetime]] | None:
    """What the tank will be and when (early, likely, late); None where neither is known."""
    if forecast.dry_at:
        return "dry", forecast.dry_at
    return ("full", forecast.full_at) if forecast.full_at else None
