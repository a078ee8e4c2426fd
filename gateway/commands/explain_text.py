"""`explain TEXT --from NUMBER`: how a raw text would be read, and which messages would go to whom. Sends and stores nothing.

The daemon's own handlers run in a transaction that is rolled back: what is shown is what would happen now.
"""

import argparse
import sys
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import replace
from tempfile import TemporaryDirectory

from gateway.clock import SystemClock
from gateway.commands.explain_output import Explained, explained_json, print_count, print_explained
from gateway.commands.site_and_store import load_site, open_site_store
from gateway.commands.standard_streams import text_of_file
from gateway.commands.terminal_output import print_json
from gateway.commands.who_is_meant import nearly_has, number_of_name
from gateway.errors import GatewayError, StoreMissing, UsageWrong
from gateway.facts import Event, Message, RuleRead, Text
from gateway.handlers.floats import end_debounces
from gateway.handlers.text import read_text
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import Store, Transaction
from gateway.settings.controller_tables import Controller
from gateway.settings.durations import format_duration
from gateway.site import Site
from gateway.status.adopted import site_with_adopted
from gateway.status.waiting import leaves_when
from gateway.storage import open_store, place
from gateway.suggest.samples import read_samples


class _NothingStored(Exception):
    """Ends the transaction without a commit."""


def run(arguments: argparse.Namespace) -> int:
    """Explains one text, or each text of standard input."""
    if arguments.text is not None and not arguments.text.strip():
        raise UsageWrong('an empty text; right would be: tank-gateway explain "LINE 1 MADE" --from NUMBER')
    site = load_site(arguments)
    with _empty_store(site) if arguments.fresh else _store_or_none(site) as store:
        with store.read() as reader:
            site = site_with_adopted(reader, site)
        number = _sender_of(arguments, site)
        results = []
        for text in _texts(arguments.text):
            results.append(_explain(store, site, text, number, fresh=arguments.fresh))
            if not arguments.json:
                print_explained(site, results[-1])
    if arguments.json:
        documents = [explained_json(site, explained) for explained in results]
        print_json(documents[0] if arguments.text is not None else {"texts": documents})
    elif arguments.text is None:
        print_count(results)
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
    with _empty_store(site) as empty:
        yield empty


@contextmanager
def _empty_store(site: Site) -> Iterator[Store]:
    """For as long as this takes: a site of which nothing is known."""
    with (
        TemporaryDirectory(prefix="tank-gateway-") as folder,
        closing(open_store(f"sqlite:///{folder}/gateway.db", site.settings.site.name)) as empty,
    ):
        yield empty


def _sender_of(arguments: argparse.Namespace, site: Site) -> str:
    """Whoever was named: a controller or contact by id, name or number; anybody with `--stranger`; else the only controller there is."""
    if arguments.sender is None and arguments.stranger:
        raise UsageWrong("which stranger? right would be --stranger with --from and a number that nobody here has")
    if arguments.sender is None:
        controllers = site.settings.controllers
        if len(controllers) != 1 or not controllers[0].number:
            raise UsageWrong("who would send it? right would be --from with a name or a number of the configuration")
        return str(controllers[0].number[0])
    number = number_of_name(arguments.sender, site) or site.number(arguments.sender)
    known = site.controller_of(number) is not None or number in site.contact_by_number
    if known or arguments.stranger:
        return number
    near = nearly_has(number, site)
    hint = f"; {near[0]} has {near[1]}, one digit off" if near is not None else ""
    raise GatewayError(
        f"{arguments.sender} is nobody's here{hint}; right would be a name or number of the configuration, or --stranger"
    )


def _texts(given: str | None) -> Iterator[str]:
    """The one text; at a terminal each line as it comes; else every text of standard input, in whichever form `suggest` reads."""
    if given is not None:
        yield given
    elif sys.stdin.isatty():
        yield from (line.rstrip("\r\n") for line in sys.stdin if line.strip())
    else:
        lines = text_of_file("-").splitlines()
        yield from (sample.text for sample in read_samples(lines).samples)


def _explain(store: Store, site: Site, raw: str, number: str, *, fresh: bool) -> Explained:
    controller = site.controller_of(number)
    book = site.books[controller.id] if controller else None
    now = SystemClock().now()
    with _rolled_back(store) as tx:
        newest_event, newest_text = tx.last_id("events"), tx.last_id("texts")
        unit = UnitOfWork(tx=tx, site=site, now=now)
        read_text(unit, Text(number=number, text=raw, at=now, heard_at=now))
        # Only what came of this text: others may wait in the outbox, and may have come this very moment.
        events = tuple(event for event in tx.events(since=now, limit=20) if (event.id or 0) > newest_event)
        messages: list[tuple[Message, str]] = [
            (message, leaves_when(tx, site, message, now)) for message in _newer(tx, newest_text)
        ]
        switched, told = _once_it_held(unit, events)
        events += tuple(switched)
        messages += told
    return Explained(
        text=raw,
        sender=_sender_words(site, controller, number),
        controller=controller,
        read=book.read(raw) if book else RuleRead(rule=None),
        trials=book.trace(raw) if book else (),
        events=events,
        messages=tuple(messages),
        fresh=fresh,
    )


def _newer(tx: Transaction, newest_text: int) -> list[Message]:
    return [message for message in tx.outbox() if (message.id or 0) > newest_text]


def _once_it_held(unit: UnitOfWork, events: Sequence[Event]) -> tuple[list[Event], list[tuple[Message, str]]]:
    """What follows of a float that must hold its state first: its events, and the messages with when they leave."""
    switched: list[Event] = []
    told: list[tuple[Message, str]] = []
    for event in events:
        placed = unit.site.floats.get((event.controller or "", event.input or ""))
        if "settling" not in event.detail or placed is None:
            continue
        newest_event, newest_text = unit.tx.last_id("events"), unit.tx.last_id("texts")
        later = replace(unit, now=unit.now + placed.float.settle)
        end_debounces(later)
        after = format_duration(placed.float.settle)
        for message in _newer(unit.tx, newest_text):
            told.append(
                (message, f"{leaves_when(unit.tx, unit.site, message, later.now)}, after {after}".removeprefix("now, "))
            )
        switched += (event for event in unit.tx.events(since=unit.now, limit=20) if (event.id or 0) > newest_event)
    return switched, told


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
