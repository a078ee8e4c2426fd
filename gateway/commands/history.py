"""`history`: the events, newest last, as a table, JSON, CSV or figures; of every site where gateways share a store."""

import argparse
import csv
import re
import sys
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import datetime, timedelta

from gateway.alarms.published_bounds import alarm_figures
from gateway.clock import SystemClock
from gateway.commands.site_and_store import load_site, no_such_tank, open_site_store, parse_moment
from gateway.commands.terminal_output import iso_time, local_time, print_json, print_table
from gateway.facts import Event
from gateway.facts.harmless import spreadsheet_cell
from gateway.site import Site
from gateway.status.episodes import low_figures
from gateway.status.sites import Place, places
from gateway.water.episode_figures import EpisodeFigures

MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?[+-]\d\d:\d\d")
CSV_COLUMNS = ("id", "at", "heard_at", "kind", "tank", "controller", "input", "text", "sender", "detail", "site")
LEAST_LOOKED_AT = timedelta(days=1)
"""Of less a rate would say nothing."""


def run(arguments: argparse.Namespace) -> int:
    """Prints the history."""
    site = load_site(arguments)
    since = parse_moment(arguments.since, site) if arguments.since else None
    with open_site_store(site.settings, check=False).read() as reader:
        sites = places(reader, site)
        if arguments.tank is not None:
            _refuse_unknown_tank(arguments.tank, sites)
        shown = sites[:1] if arguments.figures else sites  # the figures are of one site's alarms
        every = [event for place in shown for event in place.reader.events(since=since, tank=arguments.tank)]
    events = tuple(sorted(every, key=lambda event: (event.at, event.id or 0)) if len(shown) > 1 else every)
    if arguments.figures:
        _print_figures(site, events, since, as_json=arguments.json)
    elif arguments.json:
        print_json({"events": [_event_json(event, site) for event in events]})
    elif arguments.csv:
        _print_csv(events, site)
    else:
        _print_table(events, site, sites[1:], some_only=since is not None or arguments.tank is not None)
    return 0


def _refuse_unknown_tank(tank: str, sites: Sequence[Place]) -> None:
    """Raises GatewayError for a tank that is in no configuration and, since one may have been taken out of it, in no event."""
    tanks = [configured for place in sites if place.site is not None for configured in place.site.tanks.values()]
    if tank in {configured.id for configured in tanks}:
        return
    if not any(place.reader.events(tank=tank, limit=1) for place in sites):
        raise no_such_tank(tank, tanks)


def _event_json(event: Event, site: Site) -> dict[str, object]:
    """One event as the contract has it."""
    return {
        "id": event.id,
        "at": iso_time(event.at, site.zone),
        "heard_at": iso_time(event.heard_at, site.zone),
        "kind": event.kind,
        "tank": event.tank,
        "controller": event.controller,
        "input": event.input,
        "text": event.text,
        "sender": event.sender,
        "detail": dict(event.detail),
        "site": event.site,
    }


def _print_csv(events: Sequence[Event], site: Site) -> None:
    writer = csv.writer(sys.stdout)
    writer.writerow(CSV_COLUMNS)
    for event in events:
        row = _event_json(event, site)
        row["detail"] = "; ".join(f"{key}={value}" for key, value in event.detail.items())
        # A spreadsheet runs a cell that begins with "=", "+", "-" or "@" as a formula, and a text may come from anybody.
        writer.writerow([spreadsheet_cell(str(row[name])) if row[name] is not None else "" for name in CSV_COLUMNS])


def _print_table(events: Sequence[Event], site: Site, others: Sequence[Place], *, some_only: bool) -> None:
    if not events:
        print("Nothing of that kind has happened." if some_only else "Nothing has happened yet.")
        return
    elsewhere = {place.name: place.site for place in others}
    rows = [
        (local_time(event.at, site.zone), event.kind, _where(event, site, elsewhere), _text_or_detail(event, site))
        for event in events
    ]
    print_table(("when", "what", "where", "text or detail"), rows, widths=(16, 15, 17, 24))


def _where(event: Event, site: Site, elsewhere: Mapping[str, Site | None]) -> str | None:
    """`House tank`; of another site `Creek Flat: House tank`."""
    its_site = elsewhere.get(event.site, site)
    if its_site is None:
        return f"{event.site}: {event.tank or event.controller or '-'}"
    name = its_site.tank_name(event.tank) or its_site.controller_name(event.controller)
    return f"{event.site}: {name or '-'}" if event.site in elsewhere else name


def _text_or_detail(event: Event, site: Site) -> str:
    if event.text:
        return event.text
    return "; ".join(f"{key} {_detail_value(value, site)}" for key, value in event.detail.items() if key != "rule")


def _detail_value(value: object, site: Site) -> object:
    """A moment as the site's local time, changed keys as from what to what; anything else as it is."""
    if isinstance(value, list) and value and all(isinstance(change, Mapping) and "key" in change for change in value):
        return ", ".join(
            f"{change['key']} {_or_default(change['from'])} -> {_or_default(change['to'])}" for change in value
        )
    if isinstance(value, str) and MOMENT.fullmatch(value):
        return local_time(datetime.fromisoformat(value), site.zone)
    return value


def _or_default(value: object) -> str:
    return "(none)" if value is None else repr(value)


def _print_figures(site: Site, events: Sequence[Event], since: datetime | None, *, as_json: bool) -> None:
    """How many alarms, how often, against published bounds; and how often and how long each tank was low."""
    until = SystemClock().now()
    start = since or min((event.at for event in events), default=until)
    figures = alarm_figures(events, start, until)
    ordered = sorted(events, key=lambda event: (event.at, event.id))
    low = {tank.id: _low_figures(ordered, tank.id, start, until) for tank in site.settings.tanks}
    if as_json:
        tanks = {tank: None if lows is None else asdict(lows) for tank, lows in low.items()}
        print_json({"figures": [asdict(figure) for figure in figures], "low_spells": tanks})
        return
    within = {True: "yes", False: "NO", None: "-"}
    rows = [(figure.name, f"{figure.value:g}", figure.bound, within[figure.ok]) for figure in figures]
    print(f"{site.settings.site.name}, alarms against published bounds\n({figures[0].source}):\n")
    print_table(("figure", "here", "bound", "within"), rows, widths=(28, 10, 12, 6))
    print("\nLow spells (in brackets: 80 % sure):\n")
    low_rows = [_low_row(tank.name, low[tank.id]) for tank in site.settings.tanks]
    print_table(("tank", "seen", "a year", "half are over after"), low_rows, widths=(28, 7, 20, 20))


def _low_figures(events: Sequence[Event], tank: str, since: datetime, until: datetime) -> EpisodeFigures | None:
    return None if until - since < LEAST_LOOKED_AT else low_figures(events, tank, since, until)


def _low_row(name: str, figures: EpisodeFigures | None) -> tuple[str, str, str, str]:
    if figures is None:
        return name, "-", "unknown", "unknown"
    few, likely, many = figures.a_year
    lasting = "unknown" if figures.median_h is None else f"{figures.median_h:.1f} h"
    return name, str(figures.count), f"{likely:.1f} ({few:.1f} to {many:.1f})", lasting
