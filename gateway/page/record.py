"""An event → one line in plain words, with the raw text cut to what a page can bear."""

from collections.abc import Mapping
from datetime import datetime, timedelta

from gateway.alarms.kinds import OPENS, OPENS_IF_URGENT
from gateway.facts import Event
from gateway.facts.harmless import harmless
from gateway.page import EventView
from gateway.page.days import long_day, short_day
from gateway.site import Site

RAW_SHOWN = 400
ROUTINE = ("reading", "alive", "backup-made", "gateway-started", "gateway-stopped", "reloaded")
PLAIN: Mapping[str, str] = {
    "low": "{where} went low",
    "low-over": "{where} is no longer low{lasted}",
    "high": "{where} went high",
    "high-over": "{where} is no longer high{lasted}",
    "ran-dry": "The taps ran dry ({where}){who}",
    "silent": "{where} fell silent",
    "heard-again": "{where} is heard again{lasted}",
    "power-lost": "{where} lost its power",
    "power-back": "{where} has power again{lasted}",
    "battery-low": "{where}: battery low{numbers}",
    "battery-back": "{where}: battery well again{numbers}",
    "reading": "{where} told{numbers}",
    "alive": "{where} says that it is well{numbers}",
    "unread": "{where} sent a text that no rule reads",
    "note": "Note{who}: {text}",
    "taken": "{who_first} sees to it",
    "unanswered": "Nobody took it",
    "paused": "Work on {where} began",
    "pause-over": "Work on {where} is over",
    "float-fault": "{where}: its float switches to and fro",
    "float-quiet": "{where}: its float is quiet again",
    "supply-weaker": "{where} fills more slowly: {was} then, {now} now",
    "gateway-started": "The gateway started",
    "gateway-stopped": "The gateway stopped",
    "modem-lost": "The gateway lost its modem",
    "modem-back": "The gateway has its modem again{lasted}",
    "sim-trouble": "The SIM was refused",
    "sim-back": "The SIM works again{lasted}",
    "signal-lost": "The gateway has no mobile signal",
    "signal-back": "The gateway has mobile signal again{lasted}",
    "signal-weak": "The gateway's mobile signal is weak",
    "signal-good": "The gateway's mobile signal is good again{lasted}",
    "clock-untrusted": "The gateway's clock is not set",
    "clock-set": "The gateway's clock is set",
    "store-trouble": "The gateway could not store",
    "store-back": "The gateway stores again{lasted}",
    "backup-made": "A backup was made",
    "backup-failed": "A backup failed",
    "backup-back": "Backups are made again{lasted}",
    "disk-low": "The gateway's disk is nearly full",
    "disk-back": "The gateway's disk has room again",
    "outbox-waits": "Messages wait and cannot leave",
    "outbox-moves": "Messages leave again{lasted}",
    "credit-low": "The SIM has little credit",
    "credit-back": "The SIM has credit again",
    "credit-unread": "The SIM's credit could not be read",
    "given-up": "A message could not be delivered",
    "cancelled": "A message was overtaken and not sent",
    "held-back": "Messages were held back",
    "odd": "The gateway met a fault of its own and went on",
    "loop-stopped": "Somebody's automatic replies are answered no more",
    "reloaded": "The configuration was read anew",
    "reload-refused": "The new configuration was refused",
}


def event_view(site: Site, event: Event, now: datetime) -> EventView:
    """The line."""
    local = event.at.astimezone(site.zone)
    year = "" if local.year == now.astimezone(site.zone).year else f" {local.year}"
    bad = event.kind in OPENS or event.kind in OPENS_IF_URGENT or event.kind == "unanswered"
    said = _said(site, event)
    shown = "" if event.kind == "note" else cut(harmless(event.text or ""), RAW_SHOWN)
    return EventView(
        at=f"{short_day(site, local)}{year} {local:%H:%M}",
        machine_at=local.isoformat(timespec="minutes"),
        what=said if event.kind == "note" else f"{said}.",
        raw=shown,
        tone="note" if event.kind == "note" else "low" if bad else None,
        routine=event.kind in ROUTINE,
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
    return PLAIN.get(event.kind, event.kind.replace("-", " ")).format(**words)


def _lasted(site: Site, event: Event) -> str:
    lasted = event.detail.get("lasted_s")
    if event.detail.get("first") or not isinstance(lasted, int | float) or lasted <= 0:
        return ""
    return f" after {site.phrases.span(timedelta(seconds=lasted))}"


def _numbers(event: Event) -> str:
    units = {"volts": " V", "percent": " %", "celsius": " °C", "signal": " (signal)"}
    told = [
        f"{event.detail[name]:g}{unit}"
        for name, unit in units.items()
        if isinstance(event.detail.get(name), int | float)
    ]
    return f": {', '.join(told)}" if told else ""


def made_said(site: Site, now: datetime) -> str:
    """`Wed 25 Nov 2026 14:05`."""
    local = now.astimezone(site.zone)
    return f"{long_day(local.date())} {local:%H:%M}"
