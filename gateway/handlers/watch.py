"""Who is called first just now, by word: somebody is asked, has the watch once they say OK, and it falls back at its end.

    asked (`watch-asked`) → begun (`watch-begun`) → over (`watch-over`); or not had: NO, no answer in time (`watch-declined`)

Each step is told to whom it concerns: who asked, who has it, who had it before. What the week's pattern does is no step.
"""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from gateway.facts import Event, EventKind, Text
from gateway.facts.states.people import WatchAsked, WatchGiven
from gateway.handlers.enqueue import enqueue, reply_with
from gateway.handlers.event_followers import record_event
from gateway.handlers.late_orders import written_at
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.phrases.phrasebook import When
from gateway.settings.people_tables import Contact
from gateway.status.alarm_rounds import STAMP_RESOLUTION
from gateway.status.watch import asked_until, on_watch, watch_by_week

LEFT = ("sent", "delivered", "unsure", "joined")
"""States of a message that the contact has, or may have. One that was joined left with the others at once."""


def ask_for_watch(
    unit: UnitOfWork, contact: Contact, until: datetime | None, *, by: Contact | None, text: Text | None = None
) -> Event:
    """The contact is asked; what was asked of anybody before counts no more. Whoever asks for themselves has it at once."""
    if by is not None and by.id == contact.id:
        return _begin(unit, contact, until, by=None, text=text)
    asker = by.name if by is not None else unit.site.phrases.label("somebody")
    message = _tell(unit, contact, "watch-asked", {"who": asker, "until": _when(unit, until)})
    asked = WatchAsked(contact=contact.id, by=by.id if by else None, at=unit.now, until=until, message=message or 0)
    unit.tx.set_state(asked)
    return _record(unit, "watch-asked", contact, until, by=by.id if by else None, text=text)


def answer_watch(unit: UnitOfWork, contact: Contact, text: Text, *, yes: bool) -> Event | None:
    """The contact's OK or NO, where it answers that they were asked; None where it does not."""
    asked = unit.tx.state(WatchAsked)
    if asked is None or asked.contact != contact.id or unit.now >= asked_until(asked):
        return None
    if not _had_it(unit, asked, text):
        return None
    if not yes:
        reply_with(unit, contact, "watch-not-yours", {})
        return _decline(unit, asked, text)
    unit.tx.clear_state(WatchAsked)
    return _begin(unit, contact, asked.until, by=asked.by, text=text)


def move_watch(unit: UnitOfWork) -> None:
    """What was asked for and not answered in time lapses; what was given ends."""
    asked, given = unit.tx.state(WatchAsked), unit.tx.state(WatchGiven)
    if asked is not None and unit.now >= asked_until(asked):
        _decline(unit, asked, None)
    if given is not None and given.until is not None and unit.now >= given.until:
        _end(unit, given)


def _begin(unit: UnitOfWork, contact: Contact, until: datetime | None, *, by: str | None, text: Text | None) -> Event:
    before = on_watch(unit.tx, unit.site, unit.now)
    unit.tx.set_state(WatchGiven(contact=contact.id, by=by, since=unit.now, until=until))
    values = {"who": contact.name, "until": _when(unit, until)}
    reply_with(unit, contact, "watch-yours", values)
    _tell_others(unit, contact, (by, before.contact.id if before else None), "watch-begun", values)
    return _record(unit, "watch-begun", contact, until, by=by, text=text)


def _decline(unit: UnitOfWork, asked: WatchAsked, text: Text | None) -> Event:
    """`text` None: no answer came."""
    unit.tx.clear_state(WatchAsked)
    contact = unit.site.contacts.get(asked.contact)
    name = contact.name if contact is not None else asked.contact
    _tell_others(unit, contact, (asked.by,), "watch-declined", {"who": name})
    return _record(unit, "watch-declined", contact or asked.contact, asked.until, by=asked.by, text=text)


def _end(unit: UnitOfWork, given: WatchGiven) -> None:
    """It falls back to whoever has it by the week; told to both, and to who asked for it."""
    unit.tx.clear_state(WatchGiven)
    following = watch_by_week(unit.site, unit.now)
    values = {
        "who": unit.site.contact_name(given.contact),
        "name": following.contact.name if following is not None else None,
    }
    hearers = (given.contact, given.by, following.contact.id if following is not None else None)
    _tell_others(unit, None, hearers, "watch-over", values)
    _record(unit, "watch-over", unit.site.contacts.get(given.contact) or given.contact, given.until, by=given.by)


def _had_it(unit: UnitOfWork, asked: WatchAsked, text: Text) -> bool:
    """Whether the question had reached, or may have reached, the contact when they wrote."""
    message = unit.tx.message(asked.message)
    if message is None:
        return True
    return message.state in LEFT and message.at <= written_at(unit, text) + STAMP_RESOLUTION


def _tell_others(
    unit: UnitOfWork, but: Contact | None, contacts: Iterable[str | None], key: str, values: dict[str, Any]
) -> None:
    for contact_id in dict.fromkeys(contacts):
        contact = unit.site.contacts.get(contact_id or "")
        if contact is not None and contact != but:
            _tell(unit, contact, key, values)


def _tell(unit: UnitOfWork, contact: Contact, key: str, values: dict[str, Any]) -> int | None:
    segments = unit.site.segments
    words = unit.site.phrases.message(key, values, segments=segments, line=contact.line)
    return enqueue(unit, contact, words, urgent=False, subject="gateway").id


def _when(unit: UnitOfWork, at: datetime | None) -> When | None:
    return When(at, unit.now, unit.site.zone) if at is not None else None


def _record(
    unit: UnitOfWork,
    kind: EventKind,
    contact: Contact | str,
    until: datetime | None,
    *,
    by: str | None,
    text: Text | None = None,
) -> Event:
    of, name = (contact, contact) if isinstance(contact, str) else (contact.id, contact.name)
    detail = {"who": name, "contact": of, "by": by, "until": until.isoformat() if until is not None else None}
    said, sender = (text.text, text.number) if text is not None else (None, None)
    return record_event(unit, unit.event(kind, detail, text=said, sender=sender))
