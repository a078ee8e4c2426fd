"""Entries → an iCalendar file (RFC 5545), and what of the file before stays as it was. The library's one door.

An entry whose contents are as in the file before keeps its revision and its time stamp; one that changed has the next revision (SEQUENCE)
and a new stamp (DTSTAMP), so that whoever subscribes takes it for a change of the same matter.
"""

import hashlib
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import icalendar

from gateway.facts.harmless import harmless
from gateway.feeds.calendar_entries import CalendarEntry

PRODUCT = "-//tank-gateway//calendar//EN"
OF_A_REVISION = ("DTSTAMP", "SEQUENCE")


def calendar_octets(site: str, entries: Sequence[CalendarEntry], now: datetime, before: bytes | None) -> bytes:
    """The file. `before`: the one that it replaces, if there is one of ours."""
    known = _events_of(before) if before is not None else {}
    calendar = icalendar.Calendar()
    calendar.add("PRODID", PRODUCT)
    calendar.add("VERSION", "2.0")
    calendar.add("NAME", harmless(site))
    place = hashlib.sha256(site.encode()).hexdigest()[:12]
    for entry in entries:
        event = _event(entry, f"{entry.name}@{place}.tank-gateway")
        old = known.get(str(event["UID"]))
        if old is not None and _contents(old) == _contents(event):
            event.update({name: old[name] for name in OF_A_REVISION})
        else:
            event.add("DTSTAMP", now.astimezone(UTC))
            event.add("SEQUENCE", int(old["SEQUENCE"]) + 1 if old is not None else 0)
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def is_calendar(file: Path) -> bool:
    """Whether that file is a calendar that was made here."""
    return PRODUCT.encode() in file.read_bytes()


def _event(entry: CalendarEntry, uid: str) -> icalendar.Event:
    event = icalendar.Event()
    event.add("UID", uid)
    event.add("DTSTART", _as_written(entry.begins))
    event.add("DTEND", _as_written(entry.ends))
    event.add("SUMMARY", harmless(entry.says))
    if entry.more:
        event.add("DESCRIPTION", harmless(entry.more))
    event.add("TRANSP", "TRANSPARENT")  # it takes nobody's time
    return event


def _as_written(at: datetime | date) -> datetime | date:
    """Times in UTC, which need no VTIMEZONE."""
    return at.astimezone(UTC).replace(microsecond=0) if isinstance(at, datetime) else at


def _events_of(before: bytes) -> Mapping[str, Mapping[str, Any]]:
    try:
        events = icalendar.Calendar.from_ical(before).walk("VEVENT")
        return {str(event["UID"]): event for event in events if {"UID", *OF_A_REVISION} <= event.keys()}
    except (ValueError, KeyError, IndexError):
        return {}  # cut short or altered by hand: all of it is new


def _contents(event: Mapping[str, Any]) -> Mapping[str, bytes]:
    return {name: event[name].to_ical() for name in event if name not in OF_A_REVISION}
