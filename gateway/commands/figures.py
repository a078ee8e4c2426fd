"""`history --figures`: how many alarms, how often, against published bounds."""

from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime

from gateway.callout.figures import alarm_figures
from gateway.clock import SystemClock
from gateway.commands.showing import print_json, print_table
from gateway.facts import Event
from gateway.flow.house import House


def print_figures(house: House, events: Sequence[Event], since: datetime | None, *, as_json: bool) -> int:
    """Prints the figures of these events."""
    until = SystemClock().now()
    start = since or min((event.at for event in events), default=until)
    figures = alarm_figures(events, start, until)
    if as_json:
        print_json({"figures": [asdict(one) for one in figures]})
        return 0
    said = {True: "yes", False: "NO", None: "-"}
    rows = [(one.name, f"{one.value:g}", one.bound, said[one.ok]) for one in figures]
    print(f"{house.settings.site.name}, alarms against published bounds ({figures[0].source}):\n")
    print_table(("figure", "here", "bound", "within"), rows, widths=(28, 10, 12, 6))
    return 0
