"""Work on a tank: its messages are held until the end; then who asked learns it, and a tank that is low is told."""

from datetime import datetime, timedelta

from gateway.facts import Event
from gateway.handlers.enqueue import enqueue
from gateway.handlers.notify import about, notify
from gateway.handlers.record import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.phrases.phrasebook import Label, When
from gateway.ports import PauseRow
from gateway.settings.models import Contact, Tank


def pause_tank(
    unit: UnitOfWork, tank: Tank, length: timedelta, *, by: Contact | None, text: str | None = None
) -> datetime:
    """Keeps the pause and puts it on record; all others who hear of tanks are told who works there. Returns its end."""
    site = unit.site
    until = unit.now + length
    unit.tx.put_pause(tank.id, unit.now, until, by.id if by else None)
    event = record_event(
        unit,
        Event(
            kind="paused",
            at=unit.now,
            heard_at=unit.now,
            known_at=unit.now,
            tank=tank.id,
            text=text,
            sender=by.number if by else None,
            detail={"until": until.isoformat(), "by": by.id if by else None},
        ),
    )
    values = {
        "who": by.name if by else site.phrases.label("somebody"),
        "tank": tank.name,
        "until": When(until, unit.now, site.zone),
    }
    for contact in about(site, "tanks"):
        if by is None or contact.id != by.id:
            said = site.phrases.message("pause-told", values, segments=site.settings.limits.segments, line=contact.line)
            enqueue(unit, contact, said, urgent=False, subject="tanks", event=event.id)
    return until


def pauses_due(unit: UnitOfWork) -> bool:
    """Pauses whose time is over. True if there was one."""
    over = [one for one in unit.tx.pauses() if one.until <= unit.now]
    for one in over:
        unit.tx.end_pause(one.id)
        _end(unit, one)
    return bool(over)


def _end(unit: UnitOfWork, pause: PauseRow) -> None:
    site = unit.site
    if pause.tank not in site.tanks:
        return
    active = _active_since_before(unit, pause.tank)
    state = active.kind if active else "ok"
    event = record_event(
        unit,
        Event(
            kind="pause-over",
            at=unit.now,
            heard_at=unit.now,
            known_at=unit.now,
            tank=pause.tank,
            detail={"state": state},
        ),
    )
    asker = site.contacts.get(pause.by or "")
    values = {"tank": site.tank_name(pause.tank), "state": Label(state)}
    told = (asker,) if asker else about(site, "tanks")
    for contact in told:
        said = site.phrases.message("pause-over", values, segments=site.settings.limits.segments, line=contact.line)
        enqueue(unit, contact, said, urgent=False, subject="tanks", event=event.id)
    if active is not None:
        notify(unit, active)


def _active_since_before(unit: UnitOfWork, tank: str) -> Event | None:
    """The event that says the tank is low or high now, if it is."""
    from gateway.handlers.floats import remembered

    for placed in unit.site.floats_of(tank):
        if remembered(unit, placed).state == "active":
            last = unit.tx.last_event((placed.float.means,), tank=tank)
            if last is not None:
                return last
    return None
