"""`texts`: every text in and out with its state, newest last."""

import argparse
from typing import Any

from gateway.commands.opening import house_of, moment_said, store_of
from gateway.commands.showing import iso, local, print_json, print_table
from gateway.flow.house import House
from gateway.numbers import national
from gateway.ports import StoredText

SHOWN_STATES = {"sending": "waiting", "joined": "held"}
"""What is being handed over this moment still waits; what was told within a digest was held back by itself."""


def run(arguments: argparse.Namespace) -> int:
    """Prints the texts."""
    house = house_of(arguments)
    since = moment_said(arguments.since, house) if arguments.since else None
    with store_of(house.settings, check=False).read() as reader:
        texts = reader.texts(since=since)
    if arguments.json:
        print_json({"texts": [_json(text, house) for text in texts]})
    elif not texts:
        print("No text has come or gone yet.")
    else:
        rows = [_row(text, house) for text in texts]
        print_table(("when", "way", "who", "state", "text"), rows, widths=(16, 3, 16, 9, 26))
    return 0


def _json(text: StoredText, house: House) -> dict[str, Any]:
    return {
        "id": text.id,
        "way": text.way,
        "number": text.number,
        "contact": text.contact,
        "text": text.text,
        "at": iso(text.at, house.zone),
        "state": SHOWN_STATES.get(text.state, text.state),
        "segments": text.segments,
        "tries": text.tries,
        "event": text.event,
        "site": text.site,
    }


def _row(text: StoredText, house: House) -> tuple[object, ...]:
    who = house.contact_name(text.contact) or house.controller_name(text.controller)
    return (
        local(text.at, house.zone),
        text.way,
        who or national(text.number, house.settings.site.country),
        SHOWN_STATES.get(text.state, text.state),
        text.text,
    )
