"""`WATCH`, `WATCH robin until sunday`: what a contact's phone says of who is called first."""

from datetime import UTC, datetime

from gateway.facts import Event, Text
from gateway.facts.states.people import WatchAsked, WatchGiven
from gateway.handlers.enqueue import reply_with
from gateway.handlers.late_orders import reply_late, written_at, written_before
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.handlers.watch import ask_for_watch
from gateway.orders import moment_of, split_until
from gateway.phrases.phrasebook import When
from gateway.settings.people_tables import Contact
from gateway.settings.watch_checks import can_have_watch
from gateway.status.watch import on_watch


def watch_by_text(unit: UnitOfWork, contact: Contact, text: Text, said: str) -> Event | None:
    """Without a name it only asks. Whoever is named is asked, and has it once they say OK."""
    words = unit.site.phrases.until_words()
    name, ends = split_until(said, words)
    if not name and ends is None:
        _say_who(unit, contact)
        return None
    meant = unit.site.contact_called(name)
    until = moment_of(ends, words, written_at(unit, text).astimezone(unit.site.zone)) if ends is not None else None
    if meant is None or (ends is not None and until is None):
        reply_with(unit, contact, "watch-how", {"who": (meant or contact).id.upper()})
        return None
    if not can_have_watch(meant):
        reply_with(unit, contact, "watch-cannot", {"who": meant.name})
        return None
    given = unit.tx.state(WatchGiven)
    if (until is not None and until <= unit.now) or (given is not None and written_before(unit, text, given.since)):
        reply_late(unit, contact, text)
        return None
    return _ask(unit, contact, text, meant, until.astimezone(UTC) if until is not None else None)


def _ask(unit: UnitOfWork, contact: Contact, text: Text, meant: Contact, until: datetime | None) -> Event | None:
    """Not a second time while the same is asked already."""
    asked = unit.tx.state(WatchAsked)
    again = asked is not None and (asked.contact, asked.until) == (meant.id, until)
    event = None if again else ask_for_watch(unit, meant, until, by=contact, text=text)
    if meant.id != contact.id:
        reply_with(unit, contact, "watch-asked", {"who": meant.name})
    return event


def _say_who(unit: UnitOfWork, contact: Contact) -> None:
    watch = on_watch(unit.tx, unit.site, unit.now)
    if watch is None:
        reply_with(unit, contact, "watch-none", {})
        return
    until = When(watch.until, unit.now, unit.site.zone) if watch.until is not None else None
    key = "watch-yours" if watch.contact.id == contact.id else "watch"
    reply_with(unit, contact, key, {"who": watch.contact.name, "until": until})
