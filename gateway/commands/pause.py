"""`pause TANK DURATION`: work on a tank; its events are stored, its messages held until the end."""

import argparse

from gateway.clock import SystemClock
from gateway.commands.opening import house_of, no_tank, store_of
from gateway.commands.showing import local, print_json
from gateway.commands.waking import wake_daemon
from gateway.errors import UsageWrong
from gateway.handlers.pauses import pause_tank
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.settings.durations import parse_duration
from gateway.settings.models import Tank
from gateway.site import Site


def run(arguments: argparse.Namespace) -> int:
    """Keeps the pause and wakes the daemon."""
    site = house_of(arguments)
    tank = _tank(site, arguments.tank)
    try:
        length = parse_duration(arguments.duration)
    except ValueError as wrong:
        raise UsageWrong(f"{arguments.duration!r} is no duration: {wrong}") from None
    now = SystemClock().now()
    with store_of(site.settings).write() as tx:
        until = pause_tank(UnitOfWork(tx=tx, site=site, now=now), tank, length, by=None)
    wake_daemon(site.settings)
    if arguments.json:
        print_json({"tank": tank.id, "until": until.astimezone(site.zone).isoformat()})
    else:
        print(f"{tank.name}: messages are held until {local(until, site.zone)}; nothing is lost.")
    return 0


def _tank(site: Site, said: str) -> Tank:
    for tank in site.tanks.values():
        if said.casefold() in (tank.id.casefold(), tank.name.casefold()):
            return tank
    raise no_tank(said, site.tanks.values())
