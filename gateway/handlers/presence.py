"""AWAY, PEOPLE 8, BACK: how many draw water, by somebody's word. The end of an absence is asked for, never assumed."""

from dataclasses import replace
from datetime import datetime
from typing import Any

from gateway.facts import Event, EventKind, Text
from gateway.facts.states.people import Presence
from gateway.handlers.enqueue import enqueue
from gateway.handlers.event_followers import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.phrases.phrasebook import When
from gateway.settings.people_tables import Contact
from gateway.status.alarm_rounds import contacts_about
from gateway.status.presence import presence_dues, presence_now


def say_people(
    unit: UnitOfWork, people: float | None, until: datetime | None, *, by: Contact | None, text: Text | None = None
) -> Event | None:
    """So many draw water from now on: 0 nobody, None as many as are configured. Told to all others; None: that was known already.

    Once somebody is there, what was drawn meanwhile is no alarm any more.
    """
    before = presence_now(unit.tx, unit.now)
    known = (
        before is None if people is None else before is not None and (before.people, before.until) == (people, until)
    )
    if known:
        return None
    unit.tx.set_state(Presence(people=people, since=unit.now, until=until, by=by.id if by is not None else None))
    kind: EventKind = "back" if people is None else "away" if people == 0 else "people"
    values = {
        "who": by.name if by is not None else unit.site.phrases.label("somebody"),
        "people": f"{people:g}" if people else None,
        "until": When(until, unit.now, unit.site.zone) if until is not None else None,
    }
    _tell(unit, [contact for contact in contacts_about(unit.site, "tanks") if contact != by], kind, values)
    detail = {"who": values["who"], "people": people, "until": until.isoformat() if until is not None else None}
    said, sender = (text.text, text.number) if text is not None else (None, None)
    event = record_event(unit, unit.event(kind, detail, text=said, sender=sender))
    if people != 0:
        end_draws(unit)
    return event


def end_draws(unit: UnitOfWork, tank: str | None = None) -> tuple[Event, ...]:
    """What was drawn while nobody was there is explained: of every tank, or of one."""
    ended = []
    for alarm in unit.tx.alarms():
        if alarm.kind == "draw-while-away" and alarm.state != "over" and tank in (None, alarm.tank):
            lasted = {"lasted_s": (unit.now - alarm.since).total_seconds()}
            ended.append(record_event(unit, unit.event("draw-over", lasted, tank=alarm.tank)))
    return tuple(ended)


def move_presence(unit: UnitOfWork) -> None:
    """At its end: so many draw water no more; whether somebody is there again is asked, once a day until somebody says so."""
    kept = unit.tx.state(Presence)
    if kept is None or kept.people is None or kept.until is None or unit.now < kept.until:
        return
    if kept.people > 0:
        unit.tx.set_state(Presence(people=None, since=unit.now, until=None, by=kept.by))
        _tell(unit, _asked(unit, kept), "people-over", {"people": f"{kept.people:g}"})
        record_event(unit, unit.event("people-over", {"people": kept.people}))
    elif any(at <= unit.now for at in presence_dues(unit.tx)):
        unit.tx.set_state(replace(kept, asked_at=unit.now))
        _tell(unit, _asked(unit, kept), "away-asked", {"until": When(kept.until, unit.now, unit.site.zone)})


def _asked(unit: UnitOfWork, kept: Presence) -> list[Contact]:
    """Who said it; all who hear of tanks where the command line did, or that contact is configured no more."""
    by = unit.site.contacts.get(kept.by or "")
    return [by] if by is not None else list(contacts_about(unit.site, "tanks"))


def _tell(unit: UnitOfWork, contacts: list[Contact], key: str, values: dict[str, Any]) -> None:
    segments = unit.site.segments
    for contact in contacts:
        text = unit.site.phrases.message(key, values, segments=segments, line=contact.line)
        enqueue(unit, contact, text, urgent=False, subject="tanks")
