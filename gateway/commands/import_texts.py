"""`import FILE`: old texts into the history, by the same rules; sends nothing; twice is once."""

import argparse
import csv
import hashlib
import io
import sys
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from gateway.clock import SystemClock
from gateway.commands.opening import house_of, store_of
from gateway.commands.showing import print_json
from gateway.commands.streams import contents
from gateway.errors import GatewayError
from gateway.facts import Text
from gateway.facts.harmless import harmless
from gateway.handlers.text import read_text
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.site import Site

COLUMNS = ("received_at", "sender", "text")
RIGHT = "right would be: received_at,sender,text (2026-03-01T04:11:00+11:00,0491 570 006,ZONE 1 OPEN)"
LINES_A_COMMIT = 500
HEADINGS_SHOWN_CHARS = 200
FIRST_YEAR = 1992
"""The first text message was sent in December of it; and a time in the year 1 could not even be shown in another zone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OldText:
    """One line of the file."""

    line: int
    at: datetime
    number: str
    text: str


def run(arguments: argparse.Namespace) -> int:
    """Imports the file; lines that cannot be read are named and the rest goes in."""
    site = house_of(arguments)
    mistakes: list[str] = []
    old = sorted(_lines(arguments.file, site, mistakes), key=lambda one: (one.at, one.line))
    new = _keep(site, old)
    for mistake in mistakes:
        print(mistake, file=sys.stderr)
    if arguments.json:
        print_json({"read": len(old), "new": new, "known": len(old) - new, "wrong": len(mistakes)})
    else:
        print(f"{len(old)} texts read: {new} new, {len(old) - new} known before, {len(mistakes)} lines wrong.")
    return 1 if mistakes else 0


def _keep(site: Site, old: list[OldText]) -> int:
    store = store_of(site.settings)
    new = 0
    now = SystemClock().now()
    for start in range(0, len(old), LINES_A_COMMIT):
        with store.write() as tx:
            unit = UnitOfWork(tx=tx, site=site, now=now, imported=True)
            for one in old[start : start + LINES_A_COMMIT]:
                text = Text(number=one.number, text=one.text, at=one.at, heard_at=now, stamp=one.at)
                new += read_text(unit, text, import_key=_key(one))
    return new


def _key(one: OldText) -> str:
    return hashlib.sha256(f"{one.at.timestamp():.0f}|{one.number}|{one.text}".encode()).hexdigest()


def _lines(file: str, site: Site, mistakes: list[str]) -> Iterator[OldText]:
    reader = csv.reader(io.StringIO(contents(file)), strict=True)
    headings = _headings(reader, file)
    now = SystemClock().now()
    while True:
        try:
            cells = next(reader)
            if cells:
                yield _line(headings, cells, reader.line_num, site, now)
        except StopIteration:
            return
        except csv.Error as wrong:
            mistakes.append(f"{file}:{reader.line_num}: {wrong} (is a quote left open before it?); {RIGHT}")
        except ValueError as wrong:
            mistakes.append(f"{file}:{reader.line_num}: {wrong}; {RIGHT}")


def _headings(reader: Iterator[list[str]], file: str) -> list[str]:
    try:
        headings = [name.strip().lower() for name in next(reader, [])]
    except csv.Error as wrong:
        raise GatewayError(f"{file}:1: {wrong}; {RIGHT}") from None
    if any(column not in headings for column in COLUMNS):
        said = textwrap.shorten(harmless(", ".join(headings)), HEADINGS_SHOWN_CHARS) or "missing"
        raise GatewayError(f"{file}:1: the headings are {said}; {RIGHT}")
    return headings


def _line(headings: list[str], cells: list[str], line: int, site: Site, now: datetime) -> OldText:
    if any(cell.strip() for cell in cells[len(headings) :]):
        raise ValueError("there are more columns than headings: a text with a comma in it stands in quotes")
    said = {**dict.fromkeys(COLUMNS, ""), **{name: cell.strip() for name, cell in zip(headings, cells, strict=False)}}
    if not said["sender"] or not said["text"]:
        raise ValueError("a line needs a time, a sender and a text")
    try:
        at = datetime.fromisoformat(said["received_at"])
    except ValueError:
        raise ValueError(f"{said['received_at']!r} is no time") from None
    at = at if at.tzinfo else at.replace(tzinfo=site.zone)
    if at.year < FIRST_YEAR:
        raise ValueError(f"{said['received_at']} is before there were texts")
    if at > now:
        raise ValueError(f"{said['received_at']} is in the future")
    return OldText(line=line, at=at, number=site.number(said["sender"]), text=said["text"])
