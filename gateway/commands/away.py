"""`away [--until TIME]`: nobody draws water from now on, and any draw is told; `--back`: somebody is there again."""

import argparse

from gateway.clock import SystemClock
from gateway.commands.moment_ahead import moment_ahead
from gateway.commands.site_and_store import load_site, open_site_store, wake_daemon
from gateway.commands.terminal_output import local_time, print_json
from gateway.errors import UsageWrong
from gateway.facts.iso_time import iso_time
from gateway.handlers.presence import say_people
from gateway.handlers.unit_of_work import unit_of_work
from gateway.status.presence import away_now


def run(arguments: argparse.Namespace) -> int:
    """Keeps it, tells the contacts, and wakes the daemon."""
    site, now = load_site(arguments), SystemClock().now()
    if arguments.back and arguments.until:
        raise UsageWrong("--back ends it, --until says when it ends: give one of the two")
    until = moment_ahead(arguments.until, site, now) if arguments.until else None
    with open_site_store(site.settings, create=True).write() as tx:
        unit = unit_of_work(tx, site, now)
        changed = say_people(unit, None if arguments.back else 0, until, by=None) is not None
        away = away_now(tx, now)
    wake_daemon(site.settings)
    if arguments.json:
        since = iso_time(away.since, site.zone) if away is not None else None
        print_json({"away": away is not None, "since": since, "until": iso_time(until, site.zone)})
    elif arguments.back:
        print("Somebody is there again." if changed else "Nobody had said that all are away.")
    else:
        ends = f" until {local_time(until, site.zone)}" if until is not None else ""
        print(f"Nobody draws water{ends}: any draw is told. Its end is asked for; `tank-gateway away --back` says it.")
    return 0
