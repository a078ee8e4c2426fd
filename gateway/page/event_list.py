"""An event → one line of the page's record in plain words, with the raw text cut to what a page can bear."""

from dataclasses import dataclass
from datetime import datetime

from gateway.facts import KINDS, Event
from gateway.facts.kinds import Tone
from gateway.page.local_calendar import short_day
from gateway.site import Site
from gateway.status.event_sentence import cut_text, event_sentence


@dataclass(frozen=True, slots=True, kw_only=True)
class EventLine:
    """One event in plain words, the raw text on demand. `routine`: nothing that anybody need look at."""

    at: str
    machine_at: str
    what: str
    raw: str
    tone: Tone | None = None
    routine: bool = False


def event_line(site: Site, event: Event, now: datetime) -> EventLine:
    """The line; a kind that a later program wrote is told by its bare name."""
    local, kind = event.at.astimezone(site.zone), KINDS.get(event.kind)
    year = "" if local.year == now.astimezone(site.zone).year else f" {local.year}"
    sentence = event_sentence(site, event)
    is_note = event.kind == "note"  # its text stands in the line itself, as its writer ended it
    return EventLine(
        at=f"{short_day(site, local)}{year} {local:%H:%M}",
        machine_at=local.isoformat(timespec="minutes"),
        what=sentence if is_note else f"{sentence}.",
        raw="" if is_note else cut_text(event.text or ""),
        tone=kind.tone if kind else None,
        routine=kind is not None and kind.routine,
    )
