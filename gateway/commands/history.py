"""`history`: the events, newest last, as a table, JSON, JSON lines, CSV or figures; of every site where gateways share a store."""

import argparse
import csv
import re
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from heapq import merge

from gateway.alarms.month_figures import MonthFigures
from gateway.alarms.published_bounds import alarm_figures
from gateway.clock import SystemClock
from gateway.commands.site_and_store import load_site, no_such_tank, open_site_store, parse_moment
from gateway.commands.terminal_output import (
    in_terminal,
    local_time,
    print_json,
    print_json_line,
    print_json_rows,
    print_last_rows,
    print_listed,
    print_table,
    terminal_rows,
)
from gateway.facts import Event
from gateway.facts.harmless import spreadsheet_cell
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.alarm_months import alarm_months, whose_it_is
from gateway.status.episodes import low_figures
from gateway.status.event_document import event_document
from gateway.status.event_sentence import event_sentence, why_said
from gateway.status.sites import Place, places
from gateway.water.episode_figures import EpisodeFigures

MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?[+-]\d\d:\d\d")
CSV_COLUMNS = ("id", "at", "heard_at", "kind", "tank", "controller", "input", "text", "sender", "detail", "site")
HEADINGS = ("when", "what", "what happened")
LINE_COLUMNS = (16, 15, 0)
PARTICULARS = {"why": "why:", "problems": "namely", "since": "since", "until": "until", "limit": "limit"}
"""Details of an event that are told beside its sentence, and by which words."""
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
        chosen = _Chosen(places=shown, since=since, tank=arguments.tank, last=arguments.last)
        if arguments.figures:
            _print_figures(site, tuple(chosen.each()), since, sites[0].reader, as_json=arguments.json)
        elif arguments.json:
            print_json_rows("events", (event_document(event, site) for event in chosen.each()))
        elif arguments.jsonl:
            for event in chosen.each():
                print_json_line(event_document(event, site))
        elif arguments.csv:
            _print_csv(chosen.each(), site)
        else:
            _print_listing(site, sites[1:], chosen)
    return 0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Chosen:
    """Which events were asked for."""

    places: Sequence[Place]
    since: datetime | None
    tank: str | None
    last: int | None

    def each(self) -> Iterator[Event]:
        """One by one in their order; of all sites that are shown."""
        if self.last is not None:
            return iter(self.newest(self.last))
        of_each = (place.reader.each_event(since=self.since, tank=self.tank) for place in self.places)
        return merge(*of_each, key=_in_order)

    def newest(self, count: int) -> list[Event]:
        """The newest so many, newest last."""
        of_each = (place.reader.events(since=self.since, tank=self.tank, limit=count) for place in self.places)
        return list(merge(*of_each, key=_in_order))[-count:] if count else []


def _in_order(event: Event) -> tuple[datetime, int]:
    return event.at, event.id or 0


def _refuse_unknown_tank(tank: str, sites: Sequence[Place]) -> None:
    """Raises GatewayError for a tank that is in no configuration and, since one may have been taken out of it, in no event."""
    tanks = [configured for place in sites if place.site is not None for configured in place.site.tanks.values()]
    if tank in {configured.id for configured in tanks}:
        return
    if not any(place.reader.events(tank=tank, limit=1) for place in sites):
        raise no_such_tank(tank, tanks)


def _print_csv(events: Iterable[Event], site: Site) -> None:
    writer = csv.writer(sys.stdout)
    writer.writerow(CSV_COLUMNS)
    for event in events:
        row = event_document(event, site)
        row["detail"] = "; ".join(f"{key}={value}" for key, value in event.detail.items())
        # A spreadsheet runs a cell that begins with "=", "+", "-" or "@" as a formula, and a text may come from anybody.
        writer.writerow([spreadsheet_cell(str(row[name])) if row[name] is not None else "" for name in CSV_COLUMNS])


def _print_listing(site: Site, others: Sequence[Place], chosen: _Chosen) -> None:
    elsewhere = {place.name: place.site for place in others}
    rows = (_row(event, site, elsewhere) for event in chosen.each())
    some_only = chosen.since is not None or chosen.tank is not None
    nothing = "Nothing of that kind has happened." if some_only else "Nothing has happened yet."
    if chosen.since is None and chosen.last is None and in_terminal():
        rows = (_row(event, site, elsewhere) for event in chosen.newest(terminal_rows()))
        print_last_rows(HEADINGS, list(rows), nothing=nothing, more="history --last 200 or --since 7d")
    else:
        print_listed(HEADINGS, rows, LINE_COLUMNS, nothing=nothing)


def _row(event: Event, site: Site, elsewhere: Mapping[str, Site | None]) -> tuple[str, str, str]:
    return local_time(event.at, site.zone), event.kind, _what_happened(event, site, elsewhere)


def _what_happened(event: Event, site: Site, elsewhere: Mapping[str, Site | None]) -> str:
    """`House tank went low: LINE 1 MADE 0717`; of another site `Creek Flat: …`."""
    its_site = elsewhere.get(event.site, site)
    if its_site is None:
        return f"{event.site}: {event.tank or event.controller or '-'}"
    sentence = f"{event_sentence(its_site, event)}{_particulars(event, its_site)}"
    if event.text and event.kind != "note":  # a note's text stands in its sentence
        sentence = f"{sentence}: {event.text}"
    return f"{event.site}: {sentence}" if event.site in elsewhere else sentence


def _particulars(event: Event, site: Site) -> str:
    """What the sentence lacks of why and since when."""
    told = []
    for key, words in PARTICULARS.items():
        value = why_said(event) if key == "why" else event.detail.get(key)
        value = "; ".join(map(str, value)) if isinstance(value, list) else value
        if isinstance(value, str) and value:
            moment = MOMENT.fullmatch(value)
            told.append(f"{words} {local_time(datetime.fromisoformat(value), site.zone) if moment else value}")
    changes = event.detail.get("changes", ())
    told += [
        f"{change['key'] if len(changes) > 1 else ''} {_or_default(change['from'])} -> {_or_default(change['to'])}".lstrip()
        for change in changes
    ]
    return f" ({'; '.join(told)})" if told else ""


def _or_default(value: object) -> str:
    return "(none)" if value is None else repr(value)


def _print_figures(
    site: Site, events: Sequence[Event], since: datetime | None, reader: Reader, *, as_json: bool
) -> None:
    """How many alarms, how often, against published bounds; and how often and how long each tank was low."""
    until = SystemClock().now()
    start = since or min((event.at for event in events), default=until)
    figures = [figure for figure in alarm_figures(events, start, until) if figure.for_a_house]
    ordered = sorted(events, key=lambda event: (event.at, event.id))
    low = {tank.id: _low_figures(ordered, tank.id, start, until) for tank in site.settings.tanks}
    months = alarm_months(reader, site, start, until)
    if as_json:
        tanks = {tank: None if lows is None else asdict(lows) for tank, lows in low.items()}
        print_json(
            {
                "figures": [asdict(figure) for figure in figures],
                "low_spells": tanks,
                "months": [asdict(month) for month in months],
            }
        )
        return
    rows = [(figure.name, f"{figure.value:g}", figure.bound, "yes" if figure.ok else "NO") for figure in figures]
    print(
        f"{site.settings.site.name}, alarms against what is published and holds for a house\n({figures[0].source}):\n"
    )
    print_table(("figure", "here", "bound", "within"), rows)
    print("\nLow spells (in brackets: 80 % sure):\n")
    low_rows = [_low_row(tank.name, low[tank.id]) for tank in site.settings.tanks]
    print_table(("tank", "seen", "a year", "half are over after"), low_rows)
    if months:
        print("\nMonth by month (half the OKs came, half the messages arrived, within):\n")
        headings = ("month", "alarms", "a week", "at night", "unanswered", "until OK", "until there", "rang most")
        print_table(headings, [_month_row(site, month) for month in months])


def _month_row(site: Site, month: MonthFigures) -> tuple[str, ...]:
    ok = "unknown" if month.ok_min is None else f"{month.ok_min:g} min"
    arrived = ", ".join(
        f"{site.contact_name(contact)} {minutes:g} min" for contact, minutes in month.delivered_min.items()
    )
    most = ", ".join(f"{key.partition(':')[0]}: {whose_it_is(site, key)} {count}" for key, count in month.ringing)
    counts = (f"{month.a_week:g}", str(month.at_night), str(month.unanswered))
    return (month.month, str(month.alarms), *counts, ok, arrived or "unknown", most)


def _low_figures(events: Sequence[Event], tank: str, since: datetime, until: datetime) -> EpisodeFigures | None:
    return None if until - since < LEAST_LOOKED_AT else low_figures(events, tank, since, until)


def _low_row(name: str, figures: EpisodeFigures | None) -> tuple[str, str, str, str]:
    if figures is None:
        return name, "-", "unknown", "unknown"
    few, likely, many = figures.a_year
    lasting = "unknown" if figures.median_h is None else f"{figures.median_h:.1f} h"
    return name, str(figures.count), f"{likely:.1f} ({few:.1f} to {many:.1f})", lasting
