"""`note "…"`: a remark into the history."""

import argparse

from gateway.clock import SystemClock
from gateway.commands.opening import house_of, store_of
from gateway.commands.showing import print_json
from gateway.errors import UsageWrong
from gateway.facts import Event
from gateway.facts.harmless import harmless


def run(arguments: argparse.Namespace) -> int:
    """Keeps the remark."""
    said = " ".join(arguments.text.split())
    if not said:
        raise UsageWrong('an empty note; right would be: tank-gateway note "cleaned the intake"')
    site = house_of(arguments)
    now = SystemClock().now()
    with store_of(site.settings).write() as tx:
        event = tx.keep_event(Event(kind="note", at=now, heard_at=now, known_at=now, text=said))
    if arguments.json:
        print_json({"id": event.id})
    else:
        print(f"Kept: {harmless(said)}")
    return 0
