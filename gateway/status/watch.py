"""Who has the watch: who is called first just now, by word or by the week's pattern; and what follows of it for everybody else."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.alarms.watch_by_week import turn_by_week
from gateway.facts.states.people import WatchAsked, WatchGiven
from gateway.phrases.phrasebook import Line, When
from gateway.ports import Reader
from gateway.settings.people_tables import Contact
from gateway.settings.watch_checks import can_have_watch
from gateway.site import Site

ASKED_FOR = timedelta(days=1)
"""So long an answer is waited for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OnWatch:
    """`until` None: until somebody else has it. `by_word`: not by the week's pattern."""

    contact: Contact
    since: datetime
    until: datetime | None
    by_word: bool


def on_watch(reader: Reader, site: Site, now: datetime) -> OnWatch | None:
    """Who has it; None: nobody, all are called by their turns. Whoever can answer no more (another file) has none."""
    given = reader.state(WatchGiven)
    if given is not None and (given.until is None or now < given.until):
        contact = site.contacts.get(given.contact)
        if contact is not None and can_have_watch(contact):
            return OnWatch(contact=contact, since=given.since, until=given.until, by_word=True)
    return watch_by_week(site, now)


def watch_by_week(site: Site, now: datetime) -> OnWatch | None:
    """Who has it by the file alone."""
    turn = turn_by_week(site.settings.watch, site.zone, now)
    if turn is None:
        return None
    return OnWatch(contact=site.contacts[turn.contact], since=turn.since, until=turn.until, by_word=False)


def watch_said(reader: Reader, site: Site, now: datetime, line: Line = "mobile") -> str | None:
    """`Robin has the watch until Sun 18:00`; None: nobody has it."""
    watch = on_watch(reader, site, now)
    if watch is None:
        return None
    until = When(watch.until, now, site.zone) if watch.until is not None else None
    key = "watch" if until is None else "watch-until"
    return site.phrases.week_line(key, {"who": watch.contact.name, "until": until}, line=line)


def watch_dues(reader: Reader) -> Iterator[datetime]:
    """When what was asked or given by word ends."""
    asked, given = reader.state(WatchAsked), reader.state(WatchGiven)
    if asked is not None:
        yield asked_until(asked)
    if given is not None and given.until is not None:
        yield given.until


def asked_until(asked: WatchAsked) -> datetime:
    """So long an OK counts."""
    return min(asked.at + ASKED_FOR, asked.until or asked.at + ASKED_FOR)
