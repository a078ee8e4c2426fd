"""An event, as a value for JSON: the same in every form in which events are given out."""

from typing import Any

from gateway.facts import Event
from gateway.facts.iso_time import iso_time
from gateway.site import Site


def event_document(event: Event, site: Site) -> dict[str, Any]:
    """One event as the contract has it, and its site."""
    return {
        "id": event.id,
        "at": iso_time(event.at, site.zone),
        "heard_at": iso_time(event.heard_at, site.zone),
        "kind": event.kind,
        "tank": event.tank,
        "controller": event.controller,
        "input": event.input,
        "text": event.text,
        "sender": event.sender,
        "detail": dict(event.detail),
        "site": event.site,
    }
