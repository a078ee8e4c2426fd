"""How an errand ended → told to the contact who ordered it by text; nobody else waits for it. Nothing here records an event."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from gateway.facts import Event
from gateway.facts.harmless import harmless
from gateway.handlers.enqueue import enqueue, in_pieces
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.phrases.phrasebook import When
from gateway.settings.people_tables import Contact


def notify_of_errand(unit: UnitOfWork, ended: Event) -> None:
    """Answered, otherwise, not at all, or not sent: to whoever ordered it. The answer word for word."""
    contact = unit.site.contacts.get(ended.detail.get("by") or "")
    if contact is None or unit.unanswered:
        return
    values = _values(unit, ended, contact)
    key = _phrase(ended)
    if ended.text is None:
        _enqueue(
            unit, contact, unit.site.phrases.message(key, values, segments=_segments(unit), line=contact.line), ended
        )
        return
    for piece in in_pieces(unit.site.phrases.uncut_head(key, values), _segments(unit)):
        _enqueue(unit, contact, piece, ended)


def notify_of_stop(unit: UnitOfWork, stopped: Event) -> None:
    """What was switched was told to end: to who hears of controllers and to whoever ordered it. Where it ends an alarm its hearers know."""
    site, by = unit.site, stopped.detail.get("by")
    for contact in site.settings.contacts:
        heard = stopped.detail.get("alarm") and "controllers" in contact.about
        if heard or ("controllers" not in contact.about and contact.id != by):
            continue
        values = {**_values(unit, stopped, contact), "lasted": timedelta(seconds=stopped.detail["lasted_s"])}
        text = site.phrases.message("errand-stopped", values, segments=_segments(unit), line=contact.line)
        enqueue(unit, contact, text, urgent=contact.id == by, subject="controllers", event=stopped.id)


def _phrase(ended: Event) -> str:
    if ended.kind == "errand-answered" and ended.detail.get("late"):
        return "errand-late"
    if ended.kind == "errand-unanswered" and not ended.detail.get("expected", True):
        return "errand-sent"
    return ended.kind


def _values(unit: UnitOfWork, ended: Event, contact: Contact) -> Mapping[str, Any]:
    site, sent_at = unit.site, ended.detail.get("sent_at")
    in_doubt = ended.detail.get("risk") in ("sets", "switches")
    return {
        "controller": site.controller_name(ended.controller),
        "errand": ended.detail["errand"],
        "since": When(ended.at, unit.now, site.zone),
        "from": When(datetime.fromisoformat(sent_at), unit.now, site.zone) if sent_at else None,
        "raw": harmless(ended.text) if ended.text else None,
        "reason": site.phrases.sentence("errand-not-sent", ended.detail.get("why")),
        "doubt": site.phrases.sentence("mobile", "doubt") if in_doubt else None,
    }


def _segments(unit: UnitOfWork) -> int:
    return unit.site.segments


def _enqueue(unit: UnitOfWork, contact: Contact, text: str, ended: Event) -> None:
    enqueue(unit, contact, text, urgent=True, subject="controllers", event=ended.id)
