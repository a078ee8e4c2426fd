"""`read-again`: the controllers' stored texts by today's rules; first what would change, with `--yes` the change."""

import argparse
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from gateway.clock import SystemClock
from gateway.commands.site_and_store import load_site, open_site_store, parse_moment, wake_daemon
from gateway.commands.terminal_output import (
    Progress,
    in_terminal,
    local_time,
    print_json,
    print_last_rows,
    print_listed,
)
from gateway.facts import Event
from gateway.facts.iso_time import iso_time
from gateway.facts.number_fields import NUMBER_FIELDS
from gateway.handlers.read_again import ReadingAgain, ReadOtherwise, newly_active, texts_of_controllers
from gateway.handlers.unit_of_work import UnitOfWork, unit_of_work
from gateway.ports import Store, Transaction
from gateway.site import PlacedFloat, Site
from gateway.storage import open_store, sqlite_file

TEXTS_A_COMMIT = 100
HEADINGS, LINE_COLUMNS = ("when", "was", "is now", "text"), (16, 24, 24, 0)
Outcome = tuple[int, list[ReadOtherwise], Sequence[PlacedFloat]]
ONLY_LOOKED = "Nothing was changed. To change it: the same with --yes. Nobody is told of it."


class _OnlyLooked(Exception):
    """Rolls back what was tried."""


def run(arguments: argparse.Namespace) -> int:
    """Tells what is read otherwise now; changes it only with `--yes`."""
    site = load_site(arguments)
    since = parse_moment(arguments.since, site) if arguments.since else None
    store = open_site_store(site.settings, check=arguments.yes)
    read, changes, active = (_changed if arguments.yes else _tried)(store, site, since)
    if arguments.yes and changes:
        wake_daemon(site.settings)
    if arguments.json:
        shown = [_change_json(change, site) for change in changes]
        print_json({"read": read, "changed": arguments.yes, "changes": shown, "active": [_names(at) for at in active]})
        return 0
    if changes:
        _print_changes(changes, site, done=arguments.yes)
    _print_count(read, len(changes), done=arguments.yes)
    for placed in active:
        print(f"{placed.tank.name} stands {placed.float.means} by this, and nobody was told: look after it.")
    return 0


def _tried(store: Store, site: Site, since: datetime | None) -> Outcome:
    """What it would be: on a copy, so that a daemon that works on the store waits for nothing; a server's is tried on itself and undone,
    which there nobody waits for."""
    if sqlite_file(site.settings.store.url) is None:
        return _undone(store, site, since)
    with TemporaryDirectory(prefix="tank-gateway-read-again-") as folder:
        file = Path(folder) / "gateway.db"
        store.backup(str(file))
        copy = open_store(f"sqlite:///{file}", site.settings.site.name, create=False, check=False)
        try:
            return _changed(copy, site, since)
        finally:
            copy.close()


def _undone(store: Store, site: Site, since: datetime | None) -> Outcome:
    outcome: Outcome = (0, [], ())
    try:
        with store.write() as tx:
            texts = texts_of_controllers(tx, site, since)
            changes = ReadingAgain().read(_unit(tx, site), texts)
            outcome = len(texts), changes, newly_active(tx, site, changes)
            raise _OnlyLooked
    except _OnlyLooked:
        return outcome


def _changed(store: Store, site: Site, since: datetime | None) -> Outcome:
    """How many texts were read, what changed, and which floats stand active by that. Not all in one transaction: a daemon that works on
    this store waits for its end with whatever arrives."""
    with store.read() as reader:
        texts = texts_of_controllers(reader, site, since)
    reading, changes, progress = ReadingAgain(), list[ReadOtherwise](), Progress("read again")
    for start in range(0, len(texts), TEXTS_A_COMMIT):
        with store.write() as tx:
            changes += reading.read(_unit(tx, site), texts[start : start + TEXTS_A_COMMIT])
        progress(min(start + TEXTS_A_COMMIT, len(texts)) / len(texts))
    with store.read() as reader:
        return len(texts), changes, newly_active(reader, site, changes)


def _unit(tx: Transaction, site: Site) -> UnitOfWork:
    return unit_of_work(tx, site, SystemClock().now(), imported=True)


def _print_changes(changes: Sequence[ReadOtherwise], site: Site, *, done: bool) -> None:
    """In a terminal the last that fit: of many years there are thousands."""
    rows = [
        (local_time(change.text.at, site.zone), _told(change.was, site), _told(change.now, site), change.text.text)
        for change in changes
    ]
    if in_terminal():
        print_last_rows(HEADINGS, rows, nothing="", more="history --last 200" if done else "read-again | less")
    else:
        print_listed(HEADINGS, rows, LINE_COLUMNS, nothing="")
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
