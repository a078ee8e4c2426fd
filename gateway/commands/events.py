"""`events`: one JSON document a line, in the order in which they were stored; `--follow` goes on as they come."""

import argparse
import select
import sys

from gateway.commands.site_and_store import load_site, open_site_store
from gateway.commands.terminal_output import print_json_line
from gateway.ports import Reader, Store
from gateway.site import Site
from gateway.status.event_document import event_document

AT_ONCE = 500
LOOK_EVERY_MS = 1000


def run(arguments: argparse.Namespace) -> int:
    """Prints them; with `--follow` until nobody reads any more."""
    site = load_site(arguments)
    store = open_site_store(site.settings, check=False)
    with store.read() as reader:
        after = _first_after(reader, arguments)
    after = _print_after(store, site, after)
    while arguments.follow and not _nobody_reads(LOOK_EVERY_MS):
        after = _print_after(store, site, after)
    return 0


def _first_after(reader: Reader, arguments: argparse.Namespace) -> int:
    if arguments.after is not None:
        return int(arguments.after)
    return reader.last_id("events") if arguments.follow else 0


def _print_after(store: Store, site: Site, after: int) -> int:
    """Everything that was stored after that one; the last of it."""
    while True:
        with store.read() as reader:
            events = reader.events_after(after, limit=AT_ONCE)
        for event in events:
            print_json_line(event_document(event, site))
            after = event.id or after
        sys.stdout.flush()
        if len(events) < AT_ONCE:
            return after


def _nobody_reads(wait_ms: int) -> bool:
    """Waits so long, or until the other end of the pipe is closed: without a look at that, a script that has seen enough would leave us
    waiting for the next event, which may be weeks away (poll(2): POLLERR and POLLHUP are always looked for)."""
    ends = select.poll()
    ends.register(sys.stdout.fileno(), 0)
    return bool(ends.poll(wait_ms))
