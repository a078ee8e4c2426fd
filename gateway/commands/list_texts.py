"""`texts`: every text in and out with its state, newest last."""

import argparse

from gateway.commands.site_and_store import load_site, open_site_store, parse_moment
from gateway.commands.terminal_output import (
    in_terminal,
    local_time,
    print_json_rows,
    print_last_rows,
    print_listed,
    terminal_rows,
)
from gateway.facts.iso_time import iso_time
from gateway.phone_numbers import as_it_came, to_national
from gateway.ports import StoredText
from gateway.site import Site

SHOWN_STATES = {"sending": "waiting", "joined": "held"}
"""What is being handed over this moment still waits; what was told within a digest was held back by itself."""


HEADINGS = ("when", "way", "who", "state", "text")
LINE_COLUMNS = (16, 3, 16, 9, 0)
NOTHING = "No text has come or gone yet."


def run(arguments: argparse.Namespace) -> int:
    """Prints the texts."""
    site = load_site(arguments)
    since = parse_moment(arguments.since, site) if arguments.since else None
    with open_site_store(site.settings, check=False).read() as reader:
        last = arguments.last
        texts = reader.each_text(since=since) if last is None else iter(reader.texts(since=since, limit=last))
        if arguments.json:
            print_json_rows("texts", (_text_json(text, site) for text in texts))
        elif since is None and last is None and in_terminal():
            rows = [_text_row(text, site) for text in reader.texts(limit=terminal_rows())]
            print_last_rows(HEADINGS, rows, nothing=NOTHING, more="texts --last 200 or --since 7d")
        else:
            print_listed(HEADINGS, (_text_row(text, site) for text in texts), LINE_COLUMNS, nothing=NOTHING)
    return 0


def _text_json(text: StoredText, site: Site) -> dict[str, object]:
    return {
        "id": text.id,
        "way": text.way,
        "number": as_it_came(text.number),
        "contact": text.contact,
        "text": text.text,
        "at": iso_time(text.at, site.zone),
        "state": SHOWN_STATES.get(text.state, text.state),
        "segments": text.segments,
        "tries": text.tries,
        "event": text.event,
        "site": text.site,
    }


def _text_row(text: StoredText, site: Site) -> tuple[object, ...]:
    who = site.contact_name(text.contact) or site.controller_name(text.controller)
    return (
        local_time(text.at, site.zone),
        text.way,
        who or to_national(text.number, site.settings.site.country),
        SHOWN_STATES.get(text.state, text.state),
        text.text,
    )
