"""`pause TANK DURATION`: work on a tank; its events are stored, its messages held until the end."""

import argparse

from gateway.clock import SystemClock
from gateway.commands.opening import house_of, no_tank, store_of
from gateway.commands.showing import local, print_json
from gateway.commands.waking import wake_daemon
from gateway.errors import UsageWrong
from gateway.flow.house import House, Moment
from gateway.flow.pause import pause_tank
from gateway.settings.durations import duration
from gateway.settings.models import Tank


def run(arguments: argparse.Namespace) -> int:
    """Keeps the pause and wakes the daemon."""
    house = house_of(arguments)
    tank = _tank(house, arguments.tank)
    try:
        length = duration(arguments.duration)
    except ValueError as wrong:
        raise UsageWrong(f"{arguments.duration!r} is no duration: {wrong}") from None
    now = SystemClock().now()
    with store_of(house.settings).write() as tx:
        until = pause_tank(Moment(tx=tx, house=house, now=now), tank, length, by=None)
    wake_daemon(house.settings)
    if arguments.json:
        print_json({"tank": tank.id, "until": until.astimezone(house.zone).isoformat()})
    else:
        print(f"{tank.name}: messages are held until {local(until, house.zone)}; nothing is lost.")
    return 0


def _tank(house: House, said: str) -> Tank:
    for tank in house.tanks.values():
        if said.casefold() in (tank.id.casefold(), tank.name.casefold()):
            return tank
    raise no_tank(said, house.tanks.values())
