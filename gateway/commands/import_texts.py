"""`import FILE`: old texts into the history, by the same rules; sends nothing; twice is once."""

import argparse
import csv
import hashlib
import io
import sys
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from gateway.clock import SystemClock
from gateway.commands.site_and_store import load_site, open_site_store
from gateway.commands.standard_streams import text_of_file
from gateway.commands.terminal_output import print_json
from gateway.errors import GatewayError
from gateway.facts import Text
from gateway.facts.harmless import harmless
from gateway.handlers.text import read_text
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.site import Site

COLUMNS = ("received_at", "sender", "text")
RIGHT_LINE = "right would be: received_at,sender,text (2026-03-01T04:11:00+11:00,0491 570 006,ZONE 1 OPEN)"
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
    """Imports the file; lines that cannot be read are named and the others go in."""
    site = load_site(arguments)
    mistakes: list[str] = []
    texts = sorted(_old_texts(arguments.file, site, mistakes), key=lambda text: (text.at, text.line))
    new = _keep(site, texts)
    for mistake in mistakes:
        print(mistake, file=sys.stderr)
    if arguments.json:
        print_json({"read": len(texts), "new": new, "known": len(texts) - new, "wrong": len(mistakes)})
    else:
        known = len(texts) - new
        print(f"{len(texts)} texts read: {new} new, {known} known before, {len(mistakes)} lines wrong.")
    return 1 if mistakes else 0


def _keep(site: Site, texts: Sequence[OldText]) -> int:
    """Stores them, the oldest first; how many were not known before."""
    store = open_site_store(site.settings, create=True)
    new = 0
    now = SystemClock().now()
    # Not all in one transaction: a daemon that works on this store waits for its end with whatever arrives.
    for start in range(0, len(texts), LINES_A_COMMIT):
        with store.write() as tx:
            unit = UnitOfWork(tx=tx, site=site, now=now, imported=True)
            for old in texts[start : start + LINES_A_COMMIT]:
                text = Text(number=old.number, text=old.text, at=old.at, heard_at=now, stamp=old.at)
                new += read_text(unit, text, import_key=_key(old))
    return new


def _key(text: OldText) -> str:
    """What makes twice once: the same words of the same sender in the same second."""
    return hashlib.sha256(f"{text.at.timestamp():.0f}|{text.number}|{text.text}".encode()).hexdigest()


def _old_texts(file: str, site: Site, mistakes: list[str]) -> Iterator[OldText]:
    reader = csv.reader(io.StringIO(text_of_file(file)), strict=True)
    headings = _headings(reader, file)
    now = SystemClock().now()
    while True:
        try:
            cells = next(reader)
            if cells:
                yield _old_text(headings, cells, reader.line_num, site, now)
        except StopIteration:
            return
        except csv.Error as error:
            mistakes.append(f"{file}:{reader.line_num}: {error} (is a quote left open before it?); {RIGHT_LINE}")
        except ValueError as error:
            mistakes.append(f"{file}:{reader.line_num}: {error}; {RIGHT_LINE}")


def _headings(reader: Iterator[list[str]], file: str) -> list[str]:
    """In any order and case. Raises GatewayError where one lacks."""
    try:
        headings = [name.strip().lower() for name in next(reader, [])]
    except csv.Error as error:
        raise GatewayError(f"{file}:1: {error}; {RIGHT_LINE}") from None
    if any(column not in headings for column in COLUMNS):
        shown = textwrap.shorten(harmless(", ".join(headings)), HEADINGS_SHOWN_CHARS) or "missing"
        raise GatewayError(f"{file}:1: the headings are {shown}; {RIGHT_LINE}")
    return headings


def _old_text(headings: Sequence[str], cells: Sequence[str], line: int, site: Site, now: datetime) -> OldText:
    """One line. Raises ValueError saying what is wrong with it."""
    if any(cell.strip() for cell in cells[len(headings) :]):
        raise ValueError("there are more columns than headings: a text with a comma in it stands in quotes")
    values = {name: cell.strip() for name, cell in zip(headings, cells, strict=False)}
    sender, text = values.get("sender", ""), values.get("text", "")
    if not sender or not text:
        raise ValueError("a line needs a time, a sender and a text")
    at = _time_of(values.get("received_at", ""), site, now)
    return OldText(line=line, at=at, number=site.number(sender), text=text)


def _time_of(written: str, site: Site, now: datetime) -> datetime:
    """Without an offset it is the site's own time. Raises ValueError for one at which no text can have come."""
    try:
        at = datetime.fromisoformat(written)
    except ValueError:
        raise ValueError(f"{written!r} is no time") from None
    at = at if at.tzinfo else at.replace(tzinfo=site.zone)
    if at.year < FIRST_YEAR:
        raise ValueError(f"{written} is before there were texts")
    if at > now:
        raise ValueError(f"{written} is in the future")
    return at
