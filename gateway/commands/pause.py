"""`pause TANK DURATION`: work on a tank; its events are stored, its messages held until the end."""

import argparse

from gateway.clock import SystemClock
from gateway.commands.site_and_store import load_site, open_site_store, tank_called, wake_daemon
from gateway.commands.terminal_output import local_time, print_json
from gateway.errors import UsageWrong
from gateway.handlers.pauses import pause_tank
from gateway.handlers.unit_of_work import unit_of_work
from gateway.settings.durations import parse_duration


def run(arguments: argparse.Namespace) -> int:
    """Keeps the pause and wakes the daemon."""
    site = load_site(arguments)
    tank = tank_called(site, arguments.tank)
    try:
        length = parse_duration(arguments.duration)
    except ValueError as error:
        raise UsageWrong(f"{arguments.duration!r} is no duration: {error}") from None
    now = SystemClock().now()
    with open_site_store(site.settings, create=True).write() as tx:
        until = pause_tank(unit_of_work(tx, site, now), tank, length, by=None)
    wake_daemon(site.settings)
    if arguments.json:
        print_json({"tank": tank.id, "until": until.astimezone(site.zone).isoformat()})
    else:
        print(f"{tank.name}: messages are held until {local_time(until, site.zone)}; nothing is lost.")
    return 0
