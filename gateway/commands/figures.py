"""`history --figures`: how many alarms, how often, against published bounds; and how often and how long each tank was low."""

from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime, timedelta

from gateway.alarms.published_bounds import alarm_figures
from gateway.clock import SystemClock
from gateway.commands.showing import print_json, print_table
from gateway.facts import Event
from gateway.site import Site
from gateway.status.episodes import low_figures
from gateway.water.episode_figures import EpisodeFigures

LEAST_LOOKED_AT = timedelta(days=1)


def print_figures(site: Site, events: Sequence[Event], since: datetime | None, *, as_json: bool) -> int:
    """Prints the figures of these events."""
    until = SystemClock().now()
    start = since or min((event.at for event in events), default=until)
    figures = alarm_figures(events, start, until)
    ordered = sorted(events, key=lambda event: (event.at, event.id))
    low = {tank.id: _episodes(ordered, tank.id, start, until) for tank in site.settings.tanks}
    if as_json:
        tanks = {tank: None if one is None else asdict(one) for tank, one in low.items()}
        print_json({"figures": [asdict(one) for one in figures], "low_spells": tanks})
        return 0
    said = {True: "yes", False: "NO", None: "-"}
    rows = [(one.name, f"{one.value:g}", one.bound, said[one.ok]) for one in figures]
    print(f"{site.settings.site.name}, alarms against published bounds\n({figures[0].source}):\n")
    print_table(("figure", "here", "bound", "within"), rows, widths=(28, 10, 12, 6))
    print("\nLow spells (in brackets: 80 % sure):\n")
    episode_rows = [_row(tank.name, low[tank.id]) for tank in site.settings.tanks]
    print_table(("tank", "seen", "a year", "half are over after"), episode_rows, widths=(28, 7, 20, 20))
    return 0


def _episodes(events: Sequence[Event], tank: str, since: datetime, until: datetime) -> EpisodeFigures | None:
    """None where less than a day was looked at: that would be no rate."""
    if until - since < LEAST_LOOKED_AT:
        return None
    return low_figures(events, tank, since, until)


def _row(name: str, figures: EpisodeFigures | None) -> tuple[str, str, str, str]:
    if figures is None:
        return name, "-", "unknown", "unknown"
    few, likely, many = figures.a_year
    lasting = "unknown" if figures.median_h is None else f"{figures.median_h:.1f} h"
    return name, str(figures.count), f"{likely:.1f} ({few:.1f} to {many:.1f})", lasting
