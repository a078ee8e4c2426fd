"""`import FILE`: old texts into the history, by the same rules; sends nothing; twice is once."""

import argparse
import csv
import hashlib
import io
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from gateway.clock import SystemClock
from gateway.commands.opening import house_of, store_of
from gateway.commands.showing import print_json
from gateway.errors import GatewayError
from gateway.facts import Text
from gateway.flow.house import House, Moment
from gateway.flow.read import read_text

COLUMNS = ("received_at", "sender", "text")
RIGHT = "right would be: received_at,sender,text (2026-03-01T04:11:00+11:00,0491 570 006,ZONE 1 OPEN)"
LINES_A_COMMIT = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class OldText:
    """One line of the file."""

    line: int
    at: datetime
    number: str
    text: str


def run(arguments: argparse.Namespace) -> int:
    """Imports the file; lines that cannot be read are named and the rest goes in."""
    house = house_of(arguments)
    mistakes: list[str] = []
    old = sorted(_lines(arguments.file, house, mistakes), key=lambda one: (one.at, one.line))
    new = _keep(house, old)
    for mistake in mistakes:
        print(mistake, file=sys.stderr)
    if arguments.json:
        print_json({"read": len(old), "new": new, "known": len(old) - new, "wrong": len(mistakes)})
    else:
        print(f"{len(old)} texts read: {new} new, {len(old) - new} known before, {len(mistakes)} lines wrong.")
    return 1 if mistakes else 0


def _keep(house: House, old: list[OldText]) -> int:
    store = store_of(house.settings)
    new = 0
    now = SystemClock().now()
    for start in range(0, len(old), LINES_A_COMMIT):
        with store.write() as tx:
            moment = Moment(tx=tx, house=house, now=now, imported=True)
            for one in old[start : start + LINES_A_COMMIT]:
                text = Text(number=one.number, text=one.text, at=one.at, heard_at=now, stamp=one.at)
                new += read_text(moment, text, import_key=_key(one))
    return new


def _key(one: OldText) -> str:
    return hashlib.sha256(f"{one.at.timestamp():.0f}|{one.number}|{one.text}".encode()).hexdigest()


def _lines(file: str, house: House, mistakes: list[str]) -> Iterator[OldText]:
    reader = csv.DictReader(io.StringIO(_contents(file)))
    headings = [(name or "").strip().lower().lstrip("\ufeff") for name in reader.fieldnames or ()]
    if any(column not in headings for column in COLUMNS):
        raise GatewayError(f"{file}:1: the headings are {', '.join(headings) or 'missing'}; {RIGHT}")
    reader.fieldnames = headings
    now = SystemClock().now()
    for row in reader:
        try:
            yield _line(row, reader.line_num, house, now)
        except ValueError as wrong:
            mistakes.append(f"{file}:{reader.line_num}: {wrong}; {RIGHT}")


def _line(row: dict[str, str | None], line: int, house: House, now: datetime) -> OldText:
    said = {name: (row.get(name) or "").strip() for name in COLUMNS}
    if not said["sender"] or not said["text"]:
        raise ValueError("a line needs a time, a sender and a text")
    try:
        at = datetime.fromisoformat(said["received_at"])
    except ValueError:
        raise ValueError(f"{said['received_at']!r} is no time") from None
    at = at if at.tzinfo else at.replace(tzinfo=house.zone)
    if at > now:
        raise ValueError(f"{said['received_at']} is in the future")
    return OldText(line=line, at=at, number=house.number(said["sender"]), text=said["text"])


def _contents(file: str) -> str:
    if file == "-":
        return sys.stdin.read()
    try:
        return Path(file).read_text("utf-8-sig")
    except UnicodeDecodeError:
        return Path(file).read_text("latin-1")
    except OSError as wrong:
        raise GatewayError(f"{file} cannot be read: {wrong.strerror}") from None
