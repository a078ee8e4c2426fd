"""`over TANK`: somebody says that a tank's alarm is over, for a box that never says so or whose text of it was lost."""

import argparse

from gateway.clock import SystemClock
from gateway.commands.site_and_store import load_site, open_site_store, tank_called, wake_daemon
from gateway.commands.terminal_output import print_json
from gateway.handlers.float_ends import end_by_word
from gateway.handlers.unit_of_work import unit_of_work
from gateway.status.alarms_listed import level_says


def run(arguments: argparse.Namespace) -> int:
    """Keeps it, and wakes the daemon."""
    site = load_site(arguments)
    tank = tank_called(site, arguments.tank)
    with open_site_store(site.settings).write() as tx:
        unit = unit_of_work(tx, site, SystemClock().now())
        ended = end_by_word(unit, tank, by=None)
        stands = level_says(tx, site, unit.now, tank.id)
    wake_daemon(site.settings)
    if arguments.json:
        print_json({"tank": tank.id, "ended": [event.kind for event in ended]})
    elif stands is not None:
        print(stands)
    elif ended:
        print(f"{tank.name} is well again, by your word.")
    else:
        print(f"{tank.name}: no alarm of it was open.")
    return 0
