"""`tanks`: every tank and controller now (or as it was known at a time): state, since when, forecast, likely cause.

Where gateways share a store, of every site: this one first.
"""

import argparse
import math
from collections.abc import Iterator, Sequence
from datetime import datetime

from gateway.clock import SystemClock
from gateway.commands.site_and_store import load_site, open_site_store, parse_moment
from gateway.commands.terminal_output import local_time, print_json, print_table, print_text
from gateway.errors import UsageWrong
from gateway.facts import NUMBER_FIELDS
from gateway.facts.iso_time import iso_time
from gateway.facts.states.people import Presence
from gateway.ports import Reader
from gateway.settings.durations import format_duration
from gateway.site import Site
from gateway.status.battery import battery_now, battery_said
from gateway.status.forecast import TankForecast
from gateway.status.presence import presence_now
from gateway.status.site_standing import SiteStanding, dry_or_full, site_standing
from gateway.status.sites import places
from gateway.status.snapshot import ControllerSnapshot, TankSnapshot
from gateway.status.tank_documents import controller_document, tank_document
from gateway.status.who_is_there import who_is_there

OVERVIEW = tuple(entry for entry in NUMBER_FIELDS.values() if entry.overview)


def run(arguments: argparse.Namespace) -> int:
    """Prints the state."""
    site = load_site(arguments)
    now = SystemClock().now()
    at = parse_moment(arguments.at, site) if arguments.at else now
    if at > now:
        raise UsageWrong(
            f"{arguments.at!r} is still to come; right would be a time that has been, such as 07:00 or yesterday"
        )
    with open_site_store(site.settings, check=False).read() as reader:
        sites = places(reader, site)
        standings = [site_standing(place.reader, place.site, at) for place in sites if place.site]
        batteries = [
            list(_battery_texts(place.reader, place.site, at)) for place in sites if place.site and not arguments.json
        ]
        who, presence = () if arguments.at else who_is_there(reader, site, at), presence_now(reader, at)
    if arguments.json:
        print_json({**_as_json(standings), "presence": _presence_json(site, presence)})
        return 0
    print(f"As known at {local_time(at, site.zone)} ({site.settings.site.timezone}).")
    for words in who:
        print_text(f"{words}.")
    for standing, battery_texts in zip(standings, batteries, strict=True):
        _print_site(standing, battery_texts, headed=len(sites) > 1)
    for place in sites:
        if place.site is None:
            print(f"\n{place.name}: its gateway is of a version that this one cannot follow.")
    return 0


def _as_json(standings: Sequence[SiteStanding]) -> dict[str, object]:
    """As the contract has it, and the site of each."""
    here = standings[0]
    return {
        "at": iso_time(here.at, here.site.zone),
        "tanks": [tank_document(standing, tank) for standing in standings for tank in standing.snapshot.tanks],
        "controllers": [
            controller_document(standing.site, controller)
            for standing in standings
            for controller in standing.snapshot.controllers
        ],
    }


def _presence_json(site: Site, presence: Presence | None) -> dict[str, object] | None:
    """None: as many as are configured draw water."""
    return None if presence is None else {"people": presence.people, "until": iso_time(presence.until, site.zone)}


def _print_site(standing: SiteStanding, battery_texts: Sequence[str], *, headed: bool) -> None:
    site, snapshot = standing.site, standing.snapshot
    print(f"\n{site.settings.site.name} ({site.settings.site.timezone})\n" if headed else "")
    rows = [_tank_row(site, tank, standing.forecasts[tank.tank.id]) for tank in snapshot.tanks]
    print_table(("tank", "state", "since", "litres left", "dry or full about"), rows)
    for tank in snapshot.tanks:
        cause = standing.forecasts[tank.tank.id].cause
        if cause is not None:
            print_text(f"{tank.tank.name}: {cause.kind}. {cause.because}", before="\n")
    print()
    print_table(
        ("controller", "state", "last heard", "may be silent", *(entry.label for entry in OVERVIEW)),
        [_controller_row(site, controller) for controller in snapshot.controllers],
    )
    for text in battery_texts:
        print_text(text, before="\n")


def _battery_texts(reader: Reader, site: Site, at: datetime) -> Iterator[str]:
    """How each battery goes, where its volts are read."""
    for controller in site.settings.controllers:
        battery = battery_now(reader, site, controller, at)
        if battery is not None:
            yield f"{controller.name}: {battery_said(site, battery, at)}"


def _tank_row(site: Site, snapshot: TankSnapshot, forecast: TankForecast) -> tuple[object, ...]:
    litres, coming = forecast.litres, dry_or_full(forecast)
    return (
        snapshot.tank.name,
        snapshot.state + (" (paused)" if snapshot.paused_until else ""),
        local_time(snapshot.since, site.zone),
        f"{litres.likely:.0f} ({litres.low:.0f}-{litres.high:.0f})" if litres else None,
        f"{coming[0]} {local_time(coming[1][1], site.zone)}" if coming else None,
    )


def _controller_row(site: Site, snapshot: ControllerSnapshot) -> tuple[object, ...]:
    return (
        snapshot.controller.name,
        snapshot.state,
        local_time(snapshot.last_heard, site.zone),
        _silence_limit(snapshot),
        *(snapshot.numbers.get(entry.name) for entry in OVERVIEW),
    )


def _silence_limit(snapshot: ControllerSnapshot) -> str:
    """`26h`, `25h learnt`, `for ever`."""
    if snapshot.limit is None:
        return "for ever"
    if snapshot.controller.silence_after == "auto":
        return f"{math.ceil(snapshot.limit.total_seconds() / 3600)}h learnt"
    return format_duration(snapshot.limit)
