"""`explain TEXT --from NUMBER`: how a raw text would be read, and which messages would go to whom. Sends and stores nothing.

The very flow of the daemon runs in a transaction that is rolled back: what is shown is what would happen now.
"""

import argparse
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from gateway.clock import SystemClock
from gateway.commands.opening import house_of, store_of
from gateway.commands.showing import local, print_json, print_table
from gateway.errors import UsageWrong
from gateway.facts import Event, Message, Reading, RuleRead, Text
from gateway.flow.explain import message_when
from gateway.flow.house import House, Moment
from gateway.flow.read import read_text
from gateway.ports import Store, Transaction
from gateway.settings.models import Controller


class _NothingStored(Exception):
    """Ends the transaction without a commit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Explained:
    text: str
    controller: Controller | None
    read: RuleRead
    events: tuple[Event, ...]
    messages: tuple[tuple[Message, str], ...]


def run(arguments: argparse.Namespace) -> int:
    """Explains one text, or each line of standard input."""
    house = house_of(arguments)
    if arguments.sender is None:
        only = house.settings.controllers[0].number[:1] if len(house.settings.controllers) == 1 else ()
        if not only:
            raise UsageWrong("who would send it? right would be --from NUMBER")
        arguments.sender = only[0]
    number = house.number(arguments.sender)
    store = store_of(house.settings)
    texts = [arguments.text] if arguments.text is not None else (line.rstrip("\n") for line in sys.stdin)
    found = [_explain(store, house, text, number) for text in texts if text.strip()]
    if arguments.json:
        documents = [_json(house, one) for one in found]
        print_json(documents[0] if arguments.text is not None else {"texts": documents})
    else:
        for one in found:
            _print(house, one)
    return 0


def _explain(store: Store, house: House, raw: str, number: str) -> _Explained:
    controller = house.controller_of(number)
    read = house.books[controller.id].read(raw) if controller else RuleRead(rule=None)
    now = SystemClock().now()
    with _rolled_back(store) as tx:
        newest = tx.last_id("events"), tx.last_id("texts")
        text = Text(number=number, text=raw, at=now, heard_at=now)
        moment = Moment(tx=tx, house=house, now=now)
        read_text(moment, text)
        events = tuple(event for event in tx.events(since=now, limit=20) if (event.id or 0) > newest[0])
        messages = tuple(
            (message, message_when(moment, message)) for message in tx.outbox() if (message.id or 0) > newest[1]
        )
    return _Explained(text=raw, controller=controller, read=read, events=events, messages=messages)


@contextmanager
def _rolled_back(store: Store) -> Iterator[Transaction]:
    try:
        with store.write() as tx:
            yield tx
            raise _NothingStored
    except _NothingStored:
        pass


def _json(house: House, one: _Explained) -> dict[str, Any]:
    return {
        "text": one.text,
        "controller": one.controller.id if one.controller else None,
        "rule": one.read.rule,
        "readings": [_reading(house, one, reading) for reading in one.read.readings],
        "messages": [
            {
                "contact": message.contact,
                "number": message.number,
                "text": message.text,
                "segments": message.segments,
                "when": when,
                "cost": round(message.segments * house.settings.limits.price_per_segment, 4),
            }
            for message, when in one.messages
        ],
        "events": [{"kind": event.kind, "tank": event.tank} for event in one.events],
        "rules": [{"rule": trial.rule, "fitted": trial.fitted, "why": trial.why} for trial in _trials(house, one)],
    }


def _reading(house: House, one: _Explained, reading: Reading) -> dict[str, Any]:
    placed = house.floats.get((one.controller.id if one.controller else "", reading.input or ""))
    return {
        "rule": reading.rule,
        "means": reading.means,
        "input": reading.input,
        "state": reading.state,
        "tank": placed.tank.id if placed else None,
        "volts": reading.volts,
        "percent": reading.percent,
        "celsius": reading.celsius,
        "signal": reading.signal,
        "word": reading.word,
    }


def _trials(house: House, one: _Explained) -> Any:
    return house.books[one.controller.id].trace(one.text) if one.controller else ()


def _print(house: House, one: _Explained) -> None:
    print(f"Text      {one.text}")
    print(f"From      {one.controller.name if one.controller else 'no controller of this configuration'}")
    for trial in _trials(house, one):
        print(f"  rule {trial.rule}  {'fits' if trial.fitted else 'does not fit: ' + trial.why}")
    if one.read.rule is None and one.controller:
        print("Read by   no rule: it would be passed on word for word")
    for reading in one.read.readings:
        fields = {key: value for key, value in _reading(house, one, reading).items() if value is not None}
        print("Reads     " + ", ".join(f"{key} {value}" for key, value in fields.items()))
    for event in one.events:
        print(f"Event     {event.kind} {house.tank_name(event.tank) or ''} at {local(event.at, house.zone)}")
    if one.messages:
        rows = [
            (house.contact_name(message.contact) or message.number, when, message.segments, message.text)
            for message, when in one.messages
        ]
        print_table(("to", "when", "parts", "message"), rows, widths=(14, 16, 5, 36))
        cost = sum(message.segments for message, _ in one.messages) * house.settings.limits.price_per_segment
        if cost:
            print(f"Cost      {cost:.2f} {house.settings.limits.currency}")
    else:
        print("Messages  none would go")
    print()
