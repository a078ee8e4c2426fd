"""`note "…"`: a remark into the history."""

import argparse

from gateway.clock import SystemClock
from gateway.commands.opening import house_of, store_of
from gateway.commands.showing import print_json
from gateway.errors import UsageWrong
from gateway.facts.harmless import harmless
from gateway.handlers.record import record_event
from gateway.handlers.unit_of_work import UnitOfWork


def run(arguments: argparse.Namespace) -> int:
    """Keeps the remark."""
    said = " ".join(arguments.text.split())
    if not said:
        raise UsageWrong('an empty note; right would be: tank-gateway note "cleaned the intake"')
    site = house_of(arguments)
    now = SystemClock().now()
    with store_of(site.settings).write() as tx:
        unit = UnitOfWork(tx=tx, site=site, now=now)
        event = record_event(unit, unit.event("note", text=said))
    if arguments.json:
        print_json({"id": event.id})
    else:
        print(f"Kept: {harmless(said)}")
    return 0
