"""`note "…"`: a remark into the history."""

import argparse

from gateway.clock import SystemClock
from gateway.commands.site_and_store import load_site, open_site_store
from gateway.commands.terminal_output import print_json
from gateway.errors import UsageWrong
from gateway.facts.harmless import harmless
from gateway.handlers.event_followers import record_event
from gateway.handlers.unit_of_work import unit_of_work


def run(arguments: argparse.Namespace) -> int:
    """Keeps the remark."""
    remark = " ".join(arguments.text.split())
    if not remark:
        raise UsageWrong('an empty note; right would be: tank-gateway note "cleaned the intake"')
    site = load_site(arguments)
    now = SystemClock().now()
    with open_site_store(site.settings, create=True).write() as tx:
        unit = unit_of_work(tx, site, now)
        event = record_event(unit, unit.event("note", text=remark))
    if arguments.json:
        print_json({"id": event.id})
    else:
        print(f"Kept: {harmless(remark)}")
    return 0
