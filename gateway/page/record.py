"""An event → one line in plain words, with the raw text cut to what a page can bear."""

from datetime import datetime, timedelta

from gateway.facts import KINDS, NUMBER_FIELDS, Event, numbers_in
from gateway.facts.harmless import harmless
from gateway.page import EventView
from gateway.page.days import long_day, short_day
from gateway.site import Site

RAW_SHOWN = 400


def event_view(site: Site, event: Event, now: datetime) -> EventView:
    """The line."""
    local = event.at.astimezone(site.zone)
    year = "" if local.year == now.astimezone(site.zone).year else f" {local.year}"
    kind = KINDS.get(event.kind)
    said = _said(site, event)
    shown = "" if event.kind == "note" else cut(harmless(event.text or ""), RAW_SHOWN)
    return EventView(
        at=f"{short_day(site, local)}{year} {local:%H:%M}",
        machine_at=local.isoformat(timespec="minutes"),
        what=said if event.kind == "note" else f"{said}.",
        raw=shown,
        tone=kind.tone if kind else None,
        routine=kind is not None and kind.routine,
    )


def cut(text: str, most: int) -> str:
    """The text, or its beginning and how much is left out."""
    return text if len(text) <= most else f"{text[:most]} … ({len(text) - most} more characters)"


def _said(site: Site, event: Event) -> str:
    where = site.tank_name(event.tank) or site.controller_name(event.controller) or "Somebody unknown"
    who = event.detail.get("who")
    words = {
        "where": where,
        "lasted": _lasted(site, event),
        "who": f", told by {who}" if who and event.kind == "ran-dry" else f" by {who}" if who else "",
        "who_first": str(who or "Somebody"),
        "numbers": _numbers(event),
        "text": cut(harmless(event.text or ""), RAW_SHOWN),
        "was": str(event.detail.get("was", "")),
        "now": str(event.detail.get("now", "")),
    }
    kind = KINDS.get(event.kind)
    return kind.page.format(**words) if kind else str(event.kind).replace("-", " ")


def _lasted(site: Site, event: Event) -> str:
    lasted = event.detail.get("lasted_s")
    if event.detail.get("first") or not isinstance(lasted, int | float) or lasted <= 0:
        return ""
    return f" after {site.phrases.span(timedelta(seconds=lasted))}"


def _numbers(event: Event) -> str:
    told = [NUMBER_FIELDS[name].told(value) for name, value in numbers_in(event.detail).items()]
    return f": {', '.join(told)}" if told else ""


def made_said(site: Site, now: datetime) -> str:
    """`Wed 25 Nov 2026 14:05`."""
    local = now.astimezone(site.zone)
    return f"{long_day(local.date())} {local:%H:%M}"
