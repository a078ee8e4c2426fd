"""`explain TEXT --from NUMBER`: how a raw text would be read, and which messages would go to whom. Sends and stores nothing.

The daemon's own handlers run in a transaction that is rolled back: what is shown is what would happen now.
"""

import argparse
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from tempfile import TemporaryDirectory

from gateway.clock import SystemClock
from gateway.commands.explain_output import Explained, explained_json, print_explained
from gateway.commands.site_and_store import load_site, open_site_store
from gateway.commands.terminal_output import print_json
from gateway.errors import StoreMissing, UsageWrong
from gateway.facts import RuleRead, Text
from gateway.handlers.text import read_text
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import Store, Transaction
from gateway.settings.models import Controller
from gateway.site import Site
from gateway.status.waiting import leaves_when
from gateway.storage import open_store, place
from gateway.suggest.samples import parse_label

BYTE_ORDER_MARK = "\ufeff"


class _NothingStored(Exception):
    """Ends the transaction without a commit."""


def run(arguments: argparse.Namespace) -> int:
    """Explains one text, or each line of standard input."""
    if arguments.text is not None and not arguments.text.strip():
        raise UsageWrong('an empty text; right would be: tank-gateway explain "LINE 1 MADE" --from NUMBER')
    site = load_site(arguments)
    number = site.number(_sender_of(arguments, site))
    with _store_or_none(site) as store:
        results = (_explain(store, site, text, number) for text in _texts(arguments.text) if text.strip())
        if not arguments.json:
            for explained in results:
                print_explained(site, explained)
            return 0
        documents = [explained_json(site, explained) for explained in results]
    print_json(documents[0] if arguments.text is not None else {"texts": documents})
    return 0


@contextmanager
def _store_or_none(site: Site) -> Iterator[Store]:
    """The store; where there is none yet, an empty one for as long as this takes, and a word of it."""
    try:
        store = open_site_store(site.settings)
    except StoreMissing:
        where = place(site.settings.store.url)
        print(f"note: there is no store at {where}; explained as if nothing had come yet", file=sys.stderr)
    else:
        with closing(store):
            yield store
        return
    with (
        TemporaryDirectory(prefix="tank-gateway-") as folder,
        closing(open_store(f"sqlite:///{folder}/gateway.db", site.settings.site.name)) as empty,
    ):
        yield empty


def _sender_of(arguments: argparse.Namespace, site: Site) -> str:
    """Whoever was named; else the only controller there is."""
    if arguments.sender is not None:
        return str(arguments.sender)
    controllers = site.settings.controllers
    if len(controllers) != 1 or not controllers[0].number:
        raise UsageWrong("who would send it? right would be --from NUMBER")
    return controllers[0].number[0]


def _texts(given: str | None) -> Iterator[str]:
    """The one text, or each line of standard input as it comes, without the label `suggest` knows, until it ends."""
    if given is not None:
        yield given
        return
    for line in sys.stdin:
        line = line.rstrip("\r\n").removeprefix(BYTE_ORDER_MARK)
        label, _, text = line.partition("\t")
        yield text if text and parse_label(label) else line


def _explain(store: Store, site: Site, raw: str, number: str) -> Explained:
    controller = site.controller_of(number)
    book = site.books[controller.id] if controller else None
    now = SystemClock().now()
    with _rolled_back(store) as tx:
        newest_event, newest_text = tx.last_id("events"), tx.last_id("texts")
        unit = UnitOfWork(tx=tx, site=site, now=now)
        read_text(unit, Text(number=number, text=raw, at=now, heard_at=now))
        # Only what came of this text: others may wait in the outbox, and may have come this very moment.
        events = tuple(event for event in tx.events(since=now, limit=20) if (event.id or 0) > newest_event)
        messages = tuple(message for message in tx.outbox() if (message.id or 0) > newest_text)
    return Explained(
        text=raw,
        sender=_sender_words(site, controller, number),
        controller=controller,
        read=book.read(raw) if book else RuleRead(rule=None),
        trials=book.trace(raw) if book else (),
        events=events,
        messages=tuple((message, leaves_when(site, message, now)) for message in messages),
    )


def _sender_words(site: Site, controller: Controller | None, number: str) -> str:
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
