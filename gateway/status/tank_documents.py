"""Tanks and controllers as they stand, as values for JSON: the same wherever they are given out."""

from datetime import datetime
from typing import Any

from gateway.facts import NUMBER_FIELDS, Triple
from gateway.facts.iso_time import iso_time
from gateway.settings.durations import format_duration
from gateway.site import Site
from gateway.status.site_standing import SiteStanding
from gateway.status.snapshot import ControllerSnapshot, Measured, TankSnapshot

Document = dict[str, Any]


def controller_document(site: Site, snapshot: ControllerSnapshot) -> Document:
    """One controller as the contract has it, how long it may be silent, and its site."""
    return {
        "id": snapshot.controller.id,
        "name": snapshot.controller.name,
        "state": snapshot.state,
        "last_heard": iso_time(snapshot.last_heard, site.zone),
        **{name: snapshot.numbers.get(entry.name) for name, entry in NUMBER_FIELDS.items() if not entry.of_gauge},
        "silence_after": format_duration(snapshot.limit) if snapshot.limit else None,
        "site": site.settings.site.name,
    }


def tank_document(standing: SiteStanding, snapshot: TankSnapshot) -> Document:
    """One tank as the contract has it, and its site."""
    site, forecast = standing.site, standing.forecasts[snapshot.tank.id]
    cause = forecast.cause
    return {
        "id": snapshot.tank.id,
        "name": snapshot.tank.name,
        "state": snapshot.state,
        "since": iso_time(snapshot.since, site.zone),
        "litres": _rounded(forecast.litres),
        "dry_at": _iso_times(site, forecast.dry_at),
        "full_at": _iso_times(site, forecast.full_at),
        "cause": {"is": cause.kind, "because": cause.because} if cause else None,
        "paused_until": iso_time(snapshot.paused_until, site.zone),
        "watched": snapshot.is_watched,
        **({"measured": _measured(site, snapshot.measured)} if snapshot.gauges else {}),
        "site": site.settings.site.name,
    }


def _measured(site: Site, measured: Measured | None) -> Document | None:
    """None while no height is known that counts."""
    if measured is None:
        return None
    return {"level_m": measured.level_m, "litres": measured.litres, "at": iso_time(measured.at, site.zone)}


def _rounded(litres: Triple | None) -> list[float] | None:
    return None if litres is None else [round(litres.low), round(litres.likely), round(litres.high)]


def _iso_times(site: Site, times: tuple[datetime, datetime, datetime] | None) -> list[str | None] | None:
    return None if times is None else [iso_time(at, site.zone) for at in times]
