"""`read-again`: the controllers' stored texts by today's rules; first what would change, with `--yes` the change, in one commit."""

import argparse
from collections.abc import Sequence
from datetime import datetime

from gateway.clock import SystemClock
from gateway.commands.site_and_store import load_site, open_site_store, parse_moment, wake_daemon
from gateway.commands.terminal_output import local_time, print_json, print_table
from gateway.facts import Event
from gateway.facts.iso_time import iso_time
from gateway.facts.number_fields import NUMBER_FIELDS
from gateway.handlers.read_again import ReadOtherwise, newly_active, read_again
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import Store
from gateway.site import PlacedFloat, Site

ONLY_LOOKED = "Nothing was changed. To change it: the same with --yes. Nobody is told of it."


class _OnlyLooked(Exception):
    """Rolls back what was tried."""


def run(arguments: argparse.Namespace) -> int:
    """Tells what is read otherwise now; changes it only with `--yes`."""
    site = load_site(arguments)
    since = parse_moment(arguments.since, site) if arguments.since else None
    store = open_site_store(site.settings, check=arguments.yes)
    read, changes, active = _read_again(store, site, since, keep=arguments.yes)
    if arguments.yes and changes:
        wake_daemon(site.settings)
    if arguments.json:
        shown = [_change_json(change, site) for change in changes]
        print_json({"read": read, "changed": arguments.yes, "changes": shown, "active": [_names(at) for at in active]})
        return 0
    if changes:
        _print_changes(changes, site)
    _print_count(read, len(changes), done=arguments.yes)
    for placed in active:
        print(f"{placed.tank.name} stands {placed.float.means} by this, and nobody was told: look after it.")
    return 0


def _read_again(
    store: Store, site: Site, since: datetime | None, *, keep: bool
) -> tuple[int, list[ReadOtherwise], Sequence[PlacedFloat]]:
    """How many texts were read, what changed, and which floats stand active by that. One transaction, undone unless `keep`."""
    read, changes = 0, []
    active: Sequence[PlacedFloat] = ()
    try:
        with store.write() as tx:
            unit = UnitOfWork(tx=tx, site=site, now=SystemClock().now(), imported=True)
            for _, change in read_again(unit, since):
                read += 1
                changes += [] if change is None else [change]
            active = newly_active(unit, changes)
            if not keep:
                raise _OnlyLooked
    except _OnlyLooked:
        pass
    return read, changes, active


def _print_changes(changes: Sequence[ReadOtherwise], site: Site) -> None:
    rows = [
        (local_time(change.text.at, site.zone), _told(change.was, site), _told(change.now, site), change.text.text)
        for change in changes
    ]
    print_table(("when", "was", "is now", "text"), rows)
    print()


def _print_count(read: int, changed: int, *, done: bool) -> None:
    texts = "1 text" if read == 1 else f"{read} texts"
    if not changed:
        print(f"{texts} read again by today's rules: all as before.")
    elif done:
        print(f"{texts} read again by today's rules: {changed} read otherwise, kept with what they were before.")
    else:
        print(f"{texts} read by today's rules: {changed} would be read otherwise.\n{ONLY_LOOKED}")


def _told(events: Sequence[Event], site: Site) -> str:
    return "; ".join(_of_event(event, site) for event in events)


def _of_event(event: Event, site: Site) -> str:
    """`House tank low`, `reading 12.4 V`, `unread`."""
    numbers = [
        f"{value:g} {NUMBER_FIELDS[name].unit}".strip() for name, value in event.detail.items() if name in NUMBER_FIELDS
    ]
    again = f"{event.detail['still']} still" if "still" in event.detail else event.kind
    return " ".join((*([site.tank_name(event.tank) or event.tank] if event.tank else []), again, *numbers))


def _change_json(change: ReadOtherwise, site: Site) -> dict[str, object]:
    return {
        "text": change.text.id,
        "at": iso_time(change.text.at, site.zone),
        "controller": change.controller,
        "words": change.text.text,
        "was": [_event_json(event) for event in change.was],
        "now": [_event_json(event) for event in change.now],
    }


def _event_json(event: Event) -> dict[str, object]:
    return {"kind": event.kind, "tank": event.tank, "input": event.input}


def _names(placed: PlacedFloat) -> dict[str, object]:
    return {"tank": placed.tank.id, "controller": placed.float.controller, "input": placed.float.input}
