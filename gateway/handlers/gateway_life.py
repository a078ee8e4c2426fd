"""The gateway's own life → plain events: started and stopped, modem, SIM and signal lost and back, the store, the clock.

Each trouble is one event when it begins and one when it is over; marks keep it so over restarts (`gateway:<trouble>`).
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from gateway.facts import KINDS, Event, EventKind
from gateway.facts.moments import time_of
from gateway.handlers.record import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.inbox import clock_trusted
from gateway.ports import Condition, ModemLost, ModemNews, ModemReady
from gateway.settings.sharing import shared_settings
from gateway.status.sites import HOUSE
from gateway.status.troubles import trouble_mark, trouble_since

ODD_TOLD, ODD_TOLD_EVERY = "gateway:odd-told", timedelta(days=1)
OUTAGE_TOLD = timedelta(minutes=30)
"""A shorter time off (a reboot, an upgrade) is on record but told to nobody."""


def started(unit: UnitOfWork, at_work: datetime | None = None) -> None:
    """On record at each start; told after a real outage, with since when, until when and what came meanwhile.

    `at_work`: when the process before was last at work, which is known to the minute unless the board itself was off. After a cut
    of the power nobody knows when it came, for nothing is written while nothing happens: the newest thing on record is the
    latest time at which it surely worked, and that is how it is told.
    """
    last = unit.tx.last_event(("gateway-started", "gateway-stopped"))
    stopped_at = last.at if last is not None and last.kind == "gateway-stopped" else None
    known = _believed(unit, stopped_at) or _believed(unit, at_work)
    off_since = known or _believed(unit, unit.tx.last_kept(unit.now))
    detail: dict[str, Any] = {}
    if off_since is not None:
        detail = {"from": off_since.isoformat(), "off_s": (unit.now - off_since).total_seconds()}
        detail |= {"cleanly": stopped_at is not None, "surely": known is not None}
    long_off = off_since is not None and unit.now - off_since >= OUTAGE_TOLD
    _event(unit, "gateway-started", detail, tell=False)
    publish(unit)
    unit.tx.set_mark("gateway:outage", {**detail, "told": False} if long_off and unit.trusted else None)
    if not unit.trusted:
        begin(unit, "clock-untrusted", {})


def _believed(unit: UnitOfWork, at: datetime | None) -> datetime | None:
    """A time from an unset or wrong clock says nothing."""
    return at if at is not None and at < unit.now and clock_trusted(at, None) else None


def outage_told(unit: UnitOfWork) -> None:
    """Once the store was swept after a long outage: since when, until when, and how many texts came meanwhile."""
    outage = unit.tx.mark("gateway:outage")
    if not outage:
        return
    unit.tx.set_mark("gateway:outage", None)
    since = datetime.fromisoformat(outage["from"])
    came = sum(1 for text in unit.tx.texts(since=since) if text.way == "in")
    from gateway.handlers.notify import notify

    last = unit.tx.last_event(("gateway-started",))
    if last is not None:
        notify(unit, _with(last, {**outage, "count": str(came)}))


def stopped(unit: UnitOfWork) -> None:
    """On record at each orderly end."""
    _event(unit, "gateway-stopped", {}, tell=False)


def modem_news(unit: UnitOfWork, news: ModemNews) -> None:
    """Lost, ready, or what the modem says of itself."""
    if isinstance(news, ModemLost):
        begin(unit, "sim-trouble" if news.kind == "sim" else "modem-lost", {"why": news.why})
    elif isinstance(news, ModemReady):
        end(unit, "modem-lost", "modem-back", {"model": news.model, "notes": list(news.notes)})
        end(unit, "sim-trouble", "sim-back", {})
        unit.tx.set_mark(
            "gateway:modem",
            {
                "model": news.model,
                "memories": list(news.memories),
                "announces": news.announces,
                "notes": list(news.notes),
            },
        )
    elif isinstance(news, Condition):
        _condition(unit, news)


def _condition(unit: UnitOfWork, news: Condition) -> None:
    unit.tx.set_mark(
        "gateway:condition",
        {
            "signal_percent": news.signal_percent,
            "registered": news.registered,
            "operator": news.operator,
            "sim": news.sim,
            "at": unit.now.isoformat(),
        },
    )
    if news.registered is False:
        begin(unit, "signal-lost", {})
    elif news.registered:
        end(unit, "signal-lost", "signal-back", {})


def store_back(unit: UnitOfWork, said: str) -> None:
    """The store could not be written for a while; now both ends of it are on record."""
    _event(unit, "store-trouble", {"why": said}, tell=False)
    _event(unit, "store-back", {"why": said})


def backed_up(unit: UnitOfWork, said: str | None) -> None:
    """The day's backup was made, or could not be: told once until one succeeds."""
    if said is None:
        _event(unit, "backup-made", {}, tell=False)
        end(unit, "backup-failed", "backup-back", {})
    else:
        begin(unit, "backup-failed", {"why": said})


def clock_set(unit: UnitOfWork) -> None:
    """The clock was untrusted and is set now."""
    end(unit, "clock-untrusted", "clock-set", {})


def clock_unset(unit: UnitOfWork) -> None:
    """The clock shows a time that cannot be."""
    begin(unit, "clock-untrusted", {})


def reloaded(unit: UnitOfWork) -> None:
    """A new configuration is in force."""
    publish(unit)
    _event(unit, "reloaded", {})


def publish(unit: UnitOfWork) -> None:
    """What the others may know of this house."""
    said = shared_settings(unit.site.settings)
    if unit.tx.mark(HOUSE) != said:
        unit.tx.set_mark(HOUSE, said)


def reload_refused(unit: UnitOfWork, problems: list[str]) -> None:
    """A new configuration had mistakes; the old one stays in force."""
    _event(unit, "reload-refused", {"count": str(len(problems)), "problems": problems})


def odd(unit: UnitOfWork, said: str) -> None:
    """A mistake of ours, kept for whoever looks into it; told once a day that there was one."""
    told = time_of(unit.tx.mark(ODD_TOLD))
    again = told is None or abs(unit.now - told) >= ODD_TOLD_EVERY
    if again:
        unit.tx.set_mark(ODD_TOLD, unit.now.isoformat())
    _event(unit, "odd", {"why": said}, tell=again)


def begin(unit: UnitOfWork, kind: EventKind, detail: Mapping[str, Any]) -> None:
    """A trouble begins: once, until it is over."""
    if trouble_since(unit.tx, kind) is not None:
        return
    unit.tx.set_mark(trouble_mark(kind), unit.now.isoformat())
    _event(unit, kind, detail, tell=not KINDS[kind].bars_messages)


def end(unit: UnitOfWork, began: EventKind, over: EventKind, detail: Mapping[str, Any]) -> None:
    """A trouble is over: once, told with how long it lasted if it was long enough to matter."""
    since = trouble_since(unit.tx, began)
    if since is None:
        return
    unit.tx.set_mark(trouble_mark(began), None)
    lasted = unit.now - since
    told = lasted >= timedelta(minutes=5) or not KINDS[began].bars_messages
    _event(unit, over, {**detail, "lasted_s": lasted.total_seconds()}, tell=told)


def _event(unit: UnitOfWork, kind: EventKind, detail: Mapping[str, Any], *, tell: bool = True) -> Event:
    return record_event(
        unit, Event(kind=kind, at=unit.now, heard_at=unit.now, known_at=unit.now, detail=detail), tell=tell
    )


def _with(event: Event, detail: Mapping[str, Any]) -> Event:
    from dataclasses import replace

    return replace(event, detail=detail)
