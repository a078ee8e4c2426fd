"""Work on a tank begins and is over → on record, and told to whom it concerns; its messages are held meanwhile."""

from datetime import datetime, timedelta

from gateway.handlers.event_followers import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.settings.people_tables import Contact
from gateway.settings.water_tables import Tank
from gateway.status.float_memory import active_event
from gateway.status.snapshot import take_snapshot


def pause_tank(
    unit: UnitOfWork, tank: Tank, length: timedelta, *, by: Contact | None, text: str | None = None
) -> datetime:
    """Keeps the pause and puts it on record. Returns its end. `by`: who works there, if a contact asked for it by text."""
    until = unit.now + length
    worker = by.id if by else None
    unit.tx.put_pause(tank.id, unit.now, until, worker)
    detail = {"until": until.isoformat(), "by": worker}
    record_event(unit, unit.event("paused", detail, tank=tank.id, text=text, sender=by.number if by else None))
    return until


def end_pauses(unit: UnitOfWork) -> None:
    """Pauses whose time is over end, on record; not of a tank that is configured no more."""
    for pause in unit.tx.pauses():
        if pause.until > unit.now:
            continue
        unit.tx.end_pause(pause.id)
        if pause.tank in unit.site.tanks:
            active = active_event(unit.tx, unit.site, pause.tank)
            known = take_snapshot(unit.tx, unit.site, unit.now, numbers=False).tank(pause.tank).state
            detail = {"state": active.kind if active else known, "by": pause.by}
            record_event(unit, unit.event("pause-over", detail, tank=pause.tank))
