"""`history`: the events, newest last, as a table, JSON, CSV or figures; of every site where gateways share a store."""

import argparse
import csv
import re
import sys
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from gateway.commands.opening import house_of, moment_said, no_tank, store_of
from gateway.commands.showing import iso, local, print_json, print_table
from gateway.facts import Event
from gateway.facts.harmless import spreadsheet_cell
from gateway.site import Site
from gateway.status.sites import Place, places

MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?[+-]\d\d:\d\d")
CSV_COLUMNS = ("id", "at", "heard_at", "kind", "tank", "controller", "input", "text", "sender", "detail", "site")


def run(arguments: argparse.Namespace) -> int:
    """Prints the history."""
    site = house_of(arguments)
    since = moment_said(arguments.since, site) if arguments.since else None
    with store_of(site.settings, check=False).read() as reader:
        sites = places(reader, site)
        if arguments.tank is not None:
            _known(arguments.tank, sites)
        if arguments.figures:
            from gateway.commands.figures import print_figures

            events = reader.events(since=since, tank=arguments.tank)
            return print_figures(site, events, since, as_json=arguments.json)
        every = [event for one in sites for event in one.reader.events(since=since, tank=arguments.tank)]
    events = tuple(sorted(every, key=lambda event: (event.at, event.id or 0)) if len(sites) > 1 else every)
    if arguments.json:
        print_json({"events": [event_json(event, site) for event in events]})
    elif arguments.csv:
        _print_csv(events, site)
    else:
        _print_table(events, site, sites[1:], some_only=since is not None or arguments.tank is not None)
    return 0


def _known(tank: str, sites: tuple[Place, ...]) -> None:
    """Raises GatewayError for a tank that is in no configuration and, since one may have been taken out of it, in no event."""
    tanks = [one for site in sites if site.site is not None for one in site.site.tanks.values()]
    if tank in {one.id for one in tanks} or any(site.reader.events(tank=tank, limit=1) for site in sites):
        return
    raise no_tank(tank, tanks)


def event_json(event: Event, site: Site) -> dict[str, Any]:
    """One event as the contract has it."""
    return {
        "id": event.id,
        "at": iso(event.at, site.zone),
        "heard_at": iso(event.heard_at, site.zone),
        "kind": event.kind,
        "tank": event.tank,
        "controller": event.controller,
        "input": event.input,
        "text": event.text,
        "sender": event.sender,
        "detail": dict(event.detail),
        "site": event.site,
    }


def _print_csv(events: tuple[Event, ...], site: Site) -> None:
    writer = csv.writer(sys.stdout)
    writer.writerow(CSV_COLUMNS)
    for event in events:
        row = event_json(event, site)
        row["detail"] = "; ".join(f"{key}={value}" for key, value in event.detail.items())
        writer.writerow([spreadsheet_cell(str(row[name])) if row[name] is not None else "" for name in CSV_COLUMNS])


def _print_table(events: tuple[Event, ...], site: Site, others: tuple[Place, ...], *, some_only: bool) -> None:
    if not events:
        print("Nothing of that kind has happened." if some_only else "Nothing has happened yet.")
        return
    elsewhere = {place.name: place.site for place in others}
    rows = [
        (local(event.at, site.zone), event.kind, _where(event, site, elsewhere), _said(event, site)) for event in events
    ]
    print_table(("when", "what", "where", "text or detail"), rows, widths=(16, 15, 17, 24))


def _where(event: Event, site: Site, elsewhere: Mapping[str, Site | None]) -> str | None:
    """`House tank`; of another site `Creek Flat: House tank`."""
    its = elsewhere.get(event.site, site)
    if its is None:
        return f"{event.site}: {event.tank or event.controller or '-'}"
    name = its.tank_name(event.tank) or its.controller_name(event.controller)
    return f"{event.site}: {name or '-'}" if event.site in elsewhere else name


def _said(event: Event, site: Site) -> str:
    if event.text:
        return event.text
    return "; ".join(f"{key} {_shown(value, site)}" for key, value in event.detail.items() if key != "rule")


def _shown(value: object, site: Site) -> object:
    """A moment as the site's local time; anything else as it is."""
    if isinstance(value, str) and MOMENT.fullmatch(value):
        return local(datetime.fromisoformat(value), site.zone)
    return value
