"""`import FILE`: old texts (a table with headings, or a chat as a phone copies it) into the history; sends nothing; twice is once."""

import argparse
import csv
import hashlib
import io
import sys
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from gateway.clock import SystemClock
from gateway.commands.site_and_store import load_site, open_site_store
from gateway.commands.standard_streams import text_of_file
from gateway.commands.terminal_output import Progress, counted, print_json
from gateway.commands.who_is_meant import number_of_name
from gateway.errors import GatewayError
from gateway.facts import Text
from gateway.facts.harmless import harmless
from gateway.handlers.text import read_text
from gateway.handlers.unit_of_work import unit_of_work
from gateway.site import Site
from gateway.suggest.samples import Beside, Column, beside_in, columns_of, read_samples, table_form
from gateway.suggest.written_times import Ambiguous, NoTime, Order, moment_of, order_of

NAMES = {"at": "received_at", "sender": "sender", "text": "text"}
RIGHT_LINE = "right would be: received_at,sender,text (2026-03-01T04:11:00+11:00,0491 570 006,LINE 1 MADE)"
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What the command line says of the file: in which order its dates stand, and whose texts they are where it does not tell."""

    site: Site
    dates: Order | None
    sender: str | None
    now: datetime


def run(arguments: argparse.Namespace) -> int:
    """Imports the file; lines that cannot be read are named and the others go in."""
    site = load_site(arguments)
    mistakes: list[str] = []
    asked = Asked(site=site, dates=arguments.dates, sender=arguments.sender, now=SystemClock().now())
    texts = sorted(_old_texts(arguments.file, asked, mistakes), key=lambda text: (text.at, text.line))
    new = _keep(site, texts)
    for mistake in mistakes:
        print(mistake, file=sys.stderr)
    if arguments.json:
        print_json({"read": len(texts), "new": new, "known": len(texts) - new, "wrong": len(mistakes)})
    else:
        known = len(texts) - new
        print(
            f"{counted(len(texts), 'text')} read: {new:,} new, {known:,} known before, {counted(len(mistakes), 'line')} wrong."
        )
    return 1 if mistakes else 0


def _keep(site: Site, texts: Sequence[OldText]) -> int:
    """Stores them, the oldest first; how many were not known before."""
    store = open_site_store(site.settings, create=True)
    new, progress = 0, Progress("imported")
    now = SystemClock().now()
    # Not all in one transaction: a daemon that works on this store waits for its end with whatever arrives.
    for start in range(0, len(texts), LINES_A_COMMIT):
        with store.write() as tx:
            unit = unit_of_work(tx, site, now, imported=True)
            for old in texts[start : start + LINES_A_COMMIT]:
                text = Text(number=old.number, text=old.text, at=old.at, heard_at=now, stamp=old.at)
                new += read_text(unit, text, import_key=_key(old))
        if len(texts) > LINES_A_COMMIT:
            progress(min(start + LINES_A_COMMIT, len(texts)) / len(texts))
    return new


def _key(text: OldText) -> str:
    """What makes twice once: the same words of the same sender in the same second."""
    return hashlib.sha256(f"{text.at.timestamp():.0f}|{text.number}|{text.text}".encode()).hexdigest()


def _old_texts(file: str, asked: Asked, mistakes: list[str]) -> Iterator[OldText]:
    content = text_of_file(file)
    first = next((line for line in content.splitlines() if line.strip()), "")
    table = table_form(first)
    beside = _of_chat(content, file) if table is None else _of_table(content, table[0], file, mistakes)
    try:
        order = order_of((of_text.day for of_text in beside), asked.dates)
    except Ambiguous as error:
        raise GatewayError(f"{file}: {error}") from None
    for of_text in beside:
        try:
            yield _old_text(of_text, order, asked, of_chat=table is None)
        except ValueError as error:
            mistakes.append(f"{file}:{of_text.line}: {error}; {RIGHT_LINE}")


def _of_chat(content: str, file: str) -> Sequence[Beside]:
    """Raises GatewayError where nothing stands beside the texts: without a time none belongs into a history."""
    beside = read_samples(content.splitlines()).beside
    if not any(of_text.day for of_text in beside):
        first = textwrap.shorten(harmless(content.strip().partition("\n")[0]), HEADINGS_SHOWN_CHARS) or "missing"
        raise GatewayError(f"{file}:1: no times and no headings are found, the first line is {first}; {RIGHT_LINE}")
    return beside


def _of_table(content: str, mark: str, file: str, mistakes: list[str]) -> Sequence[Beside]:
    reader = csv.reader(io.StringIO(content), strict=True, delimiter=mark)
    columns, many = _headings(reader, mark, file)
    rows: list[Beside] = []
    while True:
        try:
            cells = next(reader)
            if cells:
                rows.append(_row(columns, many, cells, reader.line_num))
        except StopIteration:
            return rows
        except csv.Error as error:
            mistakes.append(f"{file}:{reader.line_num}: {error} (is a quote left open before it?); {RIGHT_LINE}")
        except ValueError as error:
            mistakes.append(f"{file}:{reader.line_num}: {error}; {RIGHT_LINE}")


def _headings(reader: Iterator[list[str]], mark: str, file: str) -> tuple[dict[Column, int], int]:
    """Which column holds what, and how many there are: in any order and case. Raises GatewayError where one lacks."""
    try:
        headings = next((cells for cells in reader if cells), [])
    except csv.Error as error:
        raise GatewayError(f"{file}:1: {error}; {RIGHT_LINE}") from None
    columns = columns_of(mark.join(headings), mark)
    lacking = [name for column, name in NAMES.items() if column not in columns and column != "sender"]
    if lacking:
        shown = textwrap.shorten(harmless(", ".join(headings)), HEADINGS_SHOWN_CHARS) or "missing"
        raise GatewayError(f"{file}:1: the headings are {shown}; {RIGHT_LINE}")
    return columns, len(headings)


def _row(columns: Mapping[Column, int], many: int, cells: Sequence[str], line: int) -> Beside:
    """One line. Raises ValueError saying what is wrong with it."""
    if any(cell.strip() for cell in cells[many:]):
        raise ValueError("there are more columns than headings: a text with a comma in it stands in quotes")
    return beside_in(columns, cells, line)


def _old_text(of_text: Beside, order: Order, asked: Asked, *, of_chat: bool) -> OldText:
    """Raises ValueError saying what is wrong with it."""
    if not of_text.text:
        raise ValueError("a line needs a time, a sender and a text")
    number = _number_of(of_text.sender, asked, name_of_a_chat=of_chat)
    return OldText(line=of_text.line, at=_time_of(of_text, order, asked), number=number, text=of_text.text)


def _number_of(sender: str, asked: Asked, *, name_of_a_chat: bool) -> str:
    """The number of who sent it: as written, or of the controller or contact of that name. A sender may be a name (a shop's, say); but in a
    chat it is only what a phone's owner calls somebody."""
    written = asked.sender or sender
    known = number_of_name(written, asked.site)
    if known is None and (not written or (name_of_a_chat and not any(char.isdigit() for char in written))):
        who = f"{written!r} is no name of the configuration" if written else "nothing tells who sent it"
        raise ValueError(f"{who}: say --from with the box's name or number")
    return asked.site.number(known or written)


def _time_of(of_text: Beside, order: Order, asked: Asked) -> datetime:
    """Without an offset it is the site's own time. Raises ValueError for one at which no text can have come."""
    written = of_text.day if of_text.day == of_text.clock else f"{of_text.day} {of_text.clock}".strip()
    try:
        at = moment_of(of_text.day, of_text.clock, order, asked.site.zone)
    except NoTime as error:
        raise ValueError(f"{written!r} is no time" if of_text.day == of_text.clock else str(error)) from None
    if at.year < FIRST_YEAR:
        raise ValueError(f"{written} is before there were texts")
    if at > asked.now:
        raise ValueError(f"{written} is in the future")
    return at
