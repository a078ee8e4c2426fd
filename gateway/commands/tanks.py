"""`tanks`: every tank and controller now (or as it was known at a time): state, since when, forecast, likely cause.

Where gateways share a store, of every site: this one first.
"""

import argparse
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from gateway.clock import SystemClock
from gateway.commands.opening import house_of, moment_said, store_of
from gateway.commands.showing import iso, local, print_json, print_table, print_text
from gateway.facts import NUMBER_FIELDS, Triple
from gateway.ports import Reader
from gateway.settings.durations import format_duration
from gateway.site import Site
from gateway.status.battery import BatteryNow, battery_now, battery_said
from gateway.status.forecast import TankForecast, forecasts
from gateway.status.sites import places
from gateway.status.snapshot import ControllerSnapshot, Snapshot, TankSnapshot, take_snapshot

OVERVIEW = tuple(entry for entry in NUMBER_FIELDS.values() if entry.overview)


def run(arguments: argparse.Namespace) -> int:
    """Prints the state."""
    site = house_of(arguments)
    at = moment_said(arguments.at, site) if arguments.at else SystemClock().now()
    with store_of(site.settings, check=False).read() as reader:
        sites = places(reader, site)
        views = [_view(one.site, one.reader, at, batteries=not arguments.json) for one in sites if one.site]
    unknown = [place.name for place in sites if place.site is None]
    if arguments.json:
        print_json(as_json(views))
    else:
        print(f"As known at {local(at, site.zone)} ({site.settings.site.timezone}).")
        for view in views:
            _print(view, headed=len(sites) > 1)
        for name in unknown:
            print(f"\n{name}: its gateway is of a version that this one cannot follow.")
    return 0


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One site at that time."""

    site: Site
    seen: Snapshot
    known: dict[str, TankForecast]
    batteries: dict[str, BatteryNow | None]


def _view(site: Site, reader: Reader, at: datetime, *, batteries: bool) -> View:
    seen = take_snapshot(reader, site, at)
    shown = site.settings.controllers if batteries else ()
    return View(
        site=site,
        seen=seen,
        known=forecasts(reader, site, seen),
        batteries={one.id: battery_now(reader, site, one, at) for one in shown},
    )


def as_json(views: Sequence[View]) -> dict[str, Any]:
    """As the contract has it, and the site of each."""
    return {
        "at": iso(views[0].seen.at, views[0].site.zone),
        "tanks": [_tank_json(view, one) for view in views for one in view.seen.tanks],
        "controllers": [_controller_json(view, one) for view in views for one in view.seen.controllers],
    }


def _controller_json(view: View, one: ControllerSnapshot) -> dict[str, Any]:
    return {
        "id": one.controller.id,
        "name": one.controller.name,
        "state": one.state,
        "last_heard": iso(one.last_heard, view.site.zone),
        **{name: one.numbers.get(entry.name) for name, entry in NUMBER_FIELDS.items()},
        "silence_after": format_duration(one.limit) if one.limit else None,
        "site": view.site.settings.site.name,
    }


def _tank_json(view: View, one: TankSnapshot) -> dict[str, Any]:
    site, forecast = view.site, view.known[one.tank.id]
    cause = forecast.cause
    return {
        "id": one.tank.id,
        "name": one.tank.name,
        "state": one.state,
        "since": iso(one.since, site.zone),
        "litres": _triple(forecast.litres),
        "dry_at": _times(site, forecast.dry_at),
        "full_at": _times(site, forecast.full_at),
        "cause": {"is": cause.kind, "because": cause.because} if cause else None,
        "paused_until": iso(one.paused_until, site.zone),
        "site": site.settings.site.name,
    }


def _triple(triple: Triple | None) -> list[float] | None:
    return None if triple is None else [round(triple.low), round(triple.likely), round(triple.high)]


def _times(site: Site, times: tuple[datetime, datetime, datetime] | None) -> list[str | None] | None:
    return None if times is None else [iso(at, site.zone) for at in times]


def _print(view: View, *, headed: bool) -> None:
    site, seen, known = view.site, view.seen, view.known
    print(f"\n{site.settings.site.name} ({site.settings.site.timezone})\n" if headed else "")
    rows = [_tank_row(site, one, known[one.tank.id]) for one in seen.tanks]
    print_table(("tank", "state", "since", "litres left", "dry or full about"), rows, widths=(18, 8, 16, 12, 18))
    for one in seen.tanks:
        cause = known[one.tank.id].cause
        if cause is not None:
            print(f"\n{one.tank.name}: {cause.kind}. {cause.because}")
    print()
    print_table(
        ("controller", "state", "last heard", "may be silent", *(entry.label for entry in OVERVIEW)),
        [_controller_row(site, one) for one in seen.controllers],
        widths=(20, 12, 16, 13, *(len(entry.label) for entry in OVERVIEW)),
    )
    _print_batteries(view)


def _print_batteries(view: View) -> None:
    """How each battery goes, where its volts are read."""
    for one in view.seen.controllers:
        found = view.batteries[one.controller.id]
        if found is not None:
            print_text(f"{one.controller.name}: {battery_said(view.site, found, view.seen.at)}", before="\n")


def _tank_row(site: Site, one: TankSnapshot, forecast: TankForecast) -> tuple[object, ...]:
    litres = forecast.litres
    when = forecast.dry_at or forecast.full_at
    word = "dry" if forecast.dry_at else "full"
    return (
        one.tank.name,
        one.state + (" (paused)" if one.paused_until else ""),
        local(one.since, site.zone),
        f"{litres.likely:.0f} ({litres.low:.0f}-{litres.high:.0f})" if litres else None,
        f"{word} {local(when[1], site.zone)}" if when else None,
    )


def _controller_row(site: Site, one: ControllerSnapshot) -> tuple[object, ...]:
    return (
        one.controller.name,
        one.state,
        local(one.last_heard, site.zone),
        _limit(one),
        *(one.numbers.get(entry.name) for entry in OVERVIEW),
    )


def _limit(one: ControllerSnapshot) -> str:
    """`26h`, `25h learnt`, `for ever`."""
    if one.limit is None:
        return "for ever"
    if one.controller.silence_after == "auto":
        return f"{math.ceil(one.limit.total_seconds() / 3600)}h learnt"
    return format_duration(one.limit)
