"""`explain TEXT --from NUMBER`: how a raw text would be read, and which messages would go to whom. Sends and stores nothing.

The very flow of the daemon runs in a transaction that is rolled back: what is shown is what would happen now.
"""

import argparse
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from gateway.clock import SystemClock
from gateway.commands.explained import Explained, as_json, show
from gateway.commands.opening import house_of, store_of
from gateway.commands.showing import print_json
from gateway.errors import UsageWrong
from gateway.facts import RuleRead, Text
from gateway.handlers.text import read_text
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import Store, Transaction
from gateway.settings.models import Controller
from gateway.site import Site
from gateway.status.waiting import leaves_when
from gateway.suggest.samples import parse_label


class _NothingStored(Exception):
    """Ends the transaction without a commit."""


def run(arguments: argparse.Namespace) -> int:
    """Explains one text, or each line of standard input."""
    if arguments.text is not None and not arguments.text.strip():
        raise UsageWrong('an empty text; right would be: tank-gateway explain "ZONE 1 OPEN" --from NUMBER')
    site = house_of(arguments)
    if arguments.sender is None:
        only = site.settings.controllers[0].number[:1] if len(site.settings.controllers) == 1 else ()
        if not only:
            raise UsageWrong("who would send it? right would be --from NUMBER")
        arguments.sender = only[0]
    number = site.number(arguments.sender)
    store = store_of(site.settings)
    if arguments.json:
        found = [as_json(site, _explain(store, site, text, number)) for text in _texts(arguments) if text.strip()]
        print_json(found[0] if arguments.text is not None else {"texts": found})
        return 0
    for text in _texts(arguments):
        if text.strip():
            show(site, _explain(store, site, text, number))
    return 0


def _texts(arguments: argparse.Namespace) -> Iterator[str]:
    """The one text, or each line of standard input as it comes, without the label `suggest` knows, until it ends."""
    if arguments.text is not None:
        yield arguments.text
        return
    for line in sys.stdin:
        line = line.rstrip("\r\n").removeprefix("\ufeff")
        before, _, after = line.partition("\t")
        yield after if after and parse_label(before) else line


def _explain(store: Store, site: Site, raw: str, number: str) -> Explained:
    controller = site.controller_of(number)
    book = site.books[controller.id] if controller else None
    now = SystemClock().now()
    with _rolled_back(store) as tx:
        newest = tx.last_id("events"), tx.last_id("texts")
        unit = UnitOfWork(tx=tx, site=site, now=now)
        read_text(unit, Text(number=number, text=raw, at=now, heard_at=now))
        events = tuple(event for event in tx.events(since=now, limit=20) if (event.id or 0) > newest[0])
        messages = tuple(
            (message, leaves_when(site, message, now)) for message in tx.outbox() if (message.id or 0) > newest[1]
        )
    return Explained(
        text=raw,
        sender=_sender(site, controller, number),
        controller=controller,
        read=book.read(raw) if book else RuleRead(rule=None),
        trials=book.trace(raw) if book else (),
        events=events,
        messages=messages,
    )


def _sender(site: Site, controller: Controller | None, number: str) -> str:
    if controller is not None:
        return f"{controller.name}, a controller"
    contact = site.contact_by_number.get(number)
    if contact is None:
        forwarded = site.settings.limits.unknown_senders == "forward"
        return f"{number}, a stranger: kept{', told to the gateway contacts' if forwarded else ''}, not answered"
    return f"{contact.name}, a contact{': taken as an order' if contact.may_ask else ' who may not ask'}"


@contextmanager
def _rolled_back(store: Store) -> Iterator[Transaction]:
    try:
        with store.write() as tx:
            yield tx
            raise _NothingStored
    except _NothingStored:
        pass
