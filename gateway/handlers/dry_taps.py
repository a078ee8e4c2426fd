"""DRY, NEXT and SAFE → the taps are dry by somebody's word, the air is let out step by step, and somebody says that the water is safe."""

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from gateway.facts import Event, EventKind, Text
from gateway.facts.states.controllers_and_tanks import ReckonedEnd
from gateway.facts.states.people import TapsDry
from gateway.handlers.enqueue import reply, reply_with
from gateway.handlers.event_followers import record_event
from gateway.handlers.late_orders import reply_late, written_before
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.orders import AskDry, Dry, Next, Safe
from gateway.phrases.phrasebook import When
from gateway.settings.people_tables import Contact
from gateway.status.alarm_rounds import KNOWS
from gateway.status.dry_taps import (
    TAPS,
    bleed_steps,
    dry_alarm,
    dry_answer,
    dry_taps_to_reckon,
    reckon_dry_end,
    step_reached,
    step_said,
    tank_of_taps,
    taps_dry,
)
from gateway.status.event_wording import forecast_values
from gateway.status.forecast import as_told, forecast_of

DRY_TOLD_ONCE_IN = timedelta(hours=1)
"""A second report within the hour is kept and answered; the others know already, unless somebody has said since that the water is safe."""


def report_dry(unit: UnitOfWork, contact: Contact, text: Text) -> Event:
    """`ran-dry` of the tank that feeds the house, and an alarm of the house; a note where no tank is configured."""
    tank = tank_of_taps(unit.tx, unit.site, unit.now)
    kind: EventKind = "ran-dry" if tank else "note"
    last = unit.tx.last_event((kind,), tank=tank.id) if tank else None
    lasts = taps_dry(unit.tx) is not None
    told = lasts and last is not None and abs(unit.now - last.heard_at) < DRY_TOLD_ONCE_IN
    if tank is not None and not unit.imported and _is_new(unit, text):
        unit.tx.set_state(TapsDry(since=text.at, by=contact.name))
    return _record(unit, contact, text, kind, tank.id if tank else None, tell=not told)


def _is_new(unit: UnitOfWork, text: Text) -> bool:
    """Whether nobody is at the taps already; who says so again so long after the first begins the steps anew, as it is a new alarm."""
    dry = taps_dry(unit.tx)
    return dry is None or text.at - dry.since >= unit.site.settings.call_out.again_after


def report_safe(unit: UnitOfWork, contact: Contact, text: Text) -> Event:
    """The water is safe again by somebody's word: kept with name and time."""
    tank = tank_of_taps(unit.tx, unit.site, unit.now)
    return _record(unit, contact, text, "taps-safe", tank.id if tank else None)


def end_dry_by_reckoning(unit: UnitOfWork) -> None:
    """Nobody said that the water is safe: reckoned once, again while the tank is low then, and told when that time is there."""
    dry = dry_taps_to_reckon(unit.tx, unit.tx.alarms())
    if dry is None:
        return
    alarm, end = dry
    if end is None or unit.now >= end.due:
        newer = reckon_dry_end(unit.tx, unit.site, alarm, unit.now)
        end = newer if end is None or newer.due > unit.now else end
        unit.tx.set_state(end, TAPS)
    if unit.now >= end.due:
        unit.tx.clear_state(ReckonedEnd, TAPS)
        unit.tx.clear_state(TapsDry)
        detail = {"since": alarm.since.isoformat(), "lasted_s": (unit.now - alarm.since).total_seconds()}
        record_event(unit, unit.event("dry-over-reckoned", detail, tank=alarm.tank))


def obey_of_dry_taps(unit: UnitOfWork, contact: Contact, text: Text, order: Dry | AskDry | Next | Safe) -> Event | None:
    """Does it, and answers. `DRY?` only asks, and calls nobody."""
    match order:
        case Dry():
            event = report_dry(unit, contact, text)
            if not event.tank:
                return _answered(unit, contact, "dry-no-tank", {}, event)
            if not _was_called(unit, contact, event):  # the call itself is the answer
                reply(unit, contact, dry_answer(unit.site, contact))
            return event
        case AskDry():
            return _answered(unit, contact, *_asked(unit))
        case Next():
            step = _go_to_next_step(unit)
            if step is None:
                return _answered(unit, contact, "not-dry", {})
            is_last = step == len(bleed_steps(unit.site)) - 1
            said = {"step": step_said(unit.site, step, contact.line)}
            return _answered(unit, contact, "last-step" if is_last else "step", said)
        case Safe():
            last = unit.tx.last_event(("ran-dry",))
            # a time ahead of ours is of a clock that was wrong
            if last is not None and last.at <= unit.now and written_before(unit, text, last.at):
                reply_late(unit, contact, text)  # of other dry taps: nobody may drink for that
                return None
            safe = _end_dry_taps(unit, contact, text)
            return _answered(unit, contact, "safe" if safe else "not-dry", {"who": contact.name}, safe)


def _answered(
    unit: UnitOfWork, contact: Contact, key: str, values: Mapping[str, Any], event: Event | None = None
) -> Event | None:
    reply_with(unit, contact, key, values)
    return event


def _was_called(unit: UnitOfWork, contact: Contact, event: Event) -> bool:
    """Whether the contact is one of those who were called just now by this very event."""
    alarm = dry_alarm(unit.tx.alarms())
    if alarm is None or alarm.event != event.id or alarm.priority != "urgent":
        return False
    tellings = unit.tx.tellings(alarm=alarm.number, since=alarm.round_at)
    return any(telling.contact == contact.id and telling.why in KNOWS for telling in tellings)


def _asked(unit: UnitOfWork) -> tuple[str, dict[str, Any]]:
    """What is known of the taps: that they are dry, or when they may be, or nothing."""
    dry, tank = taps_dry(unit.tx), tank_of_taps(unit.tx, unit.site, unit.now)
    if dry is not None:
        return "is-dry", {"since": When(dry.since, unit.now, unit.site.zone), "who": dry.by}
    forecast = forecast_of(unit.tx, unit.site, tank.id, unit.now) if tank else None
    if tank is None or forecast is None or forecast.dry_at is None:
        return "dry-unknown", {}
    told = as_told(unit.tx, {tank.id: forecast})
    values = {**forecast_values(unit.site, told[tank.id], unit.now), "tank": tank.name}
    return ("dry-when" if "dry_early" in values else "dry-by-now"), values


def _go_to_next_step(unit: UnitOfWork) -> int | None:
    """The number of the step that is next, from 0; the last one is said again and again. None: the taps are not dry."""
    dry = taps_dry(unit.tx)
    if dry is None:
        return None
    step = min(step_reached(unit.site, dry) + 1, len(bleed_steps(unit.site)) - 1)
    unit.tx.set_state(TapsDry(since=dry.since, by=dry.by, step=step))
    return step


def _end_dry_taps(unit: UnitOfWork, contact: Contact, text: Text) -> Event | None:
    """Somebody says that the water is safe again: kept with name and time. None: the taps were not dry."""
    if taps_dry(unit.tx) is None and dry_alarm(unit.tx.alarms()) is None:
        return None
    unit.tx.clear_state(TapsDry)
    unit.tx.clear_state(ReckonedEnd, TAPS)
    return report_safe(unit, contact, text)


def _record(
    unit: UnitOfWork, contact: Contact, text: Text, kind: EventKind, tank: str | None, *, tell: bool = True
) -> Event:
    detail = {"who": contact.name}
    event = unit.event(kind, detail, at=text.at, tank=tank, text=text.text, sender=contact.number)
    return record_event(unit, event, tell=tell)
