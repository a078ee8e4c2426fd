"""The gateway's own life → plain events: started and stopped, modem, SIM and signal lost and back, the store, the clock.

Each trouble is one event when it begins and one when it is over; marks keep it so over restarts (`gateway:<trouble>`).
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from gateway.facts import Event, EventKind
from gateway.facts.moments import time_of
from gateway.flow.happen import happen
from gateway.flow.house import Moment
from gateway.flow.sites import publish
from gateway.inbox import clock_trusted
from gateway.ports import Condition, ModemLost, ModemNews, ModemReady, Reader

ODD_TOLD, ODD_TOLD_EVERY = "gateway:odd-told", timedelta(days=1)
CANNOT_LEAVE = ("modem-lost", "signal-lost", "outbox-waits")
"""Troubles in which no message leaves: only their end is told."""
OUTAGE_TOLD = timedelta(minutes=30)
"""A shorter time off (a reboot, an upgrade) is on record but told to nobody."""


def started(moment: Moment, at_work: datetime | None = None) -> None:
    """On record at each start; told after a real outage, with since when, until when and what came meanwhile.

    `at_work`: when the process before was last at work, which is known to the minute unless the board itself was off. After a cut
    of the power nobody knows when it came, for nothing is written while nothing happens: the newest thing on record is the
    latest time at which it surely worked, and that is how it is told.
    """
    last = moment.tx.last_event(("gateway-started", "gateway-stopped"))
    stopped_at = last.at if last is not None and last.kind == "gateway-stopped" else None
    known = _believed(moment, stopped_at) or _believed(moment, at_work)
    off_since = known or _believed(moment, moment.tx.last_kept(moment.now))
    detail: dict[str, Any] = {}
    if off_since is not None:
        detail = {"from": off_since.isoformat(), "off_s": (moment.now - off_since).total_seconds()}
        detail |= {"cleanly": stopped_at is not None, "surely": known is not None}
    long_off = off_since is not None and moment.now - off_since >= OUTAGE_TOLD
    _event(moment, "gateway-started", detail, tell=False)
    publish(moment)
    moment.tx.set_mark("gateway:outage", {**detail, "told": False} if long_off and moment.trusted else None)
    if not moment.trusted:
        begin(moment, "clock-untrusted", {})


def _believed(moment: Moment, at: datetime | None) -> datetime | None:
    """A time from an unset or wrong clock says nothing."""
    return at if at is not None and at < moment.now and clock_trusted(at, None) else None


def outage_told(moment: Moment) -> None:
    """Once the store was swept after a long outage: since when, until when, and how many texts came meanwhile."""
    outage = moment.tx.mark("gateway:outage")
    if not outage:
        return
    moment.tx.set_mark("gateway:outage", None)
    since = datetime.fromisoformat(outage["from"])
    came = sum(1 for text in moment.tx.texts(since=since) if text.way == "in")
    from gateway.flow.tell import announce

    last = moment.tx.last_event(("gateway-started",))
    if last is not None:
        announce(moment, _with(last, {**outage, "count": str(came)}))


def stopped(moment: Moment) -> None:
    """On record at each orderly end."""
    _event(moment, "gateway-stopped", {}, tell=False)


def modem_news(moment: Moment, news: ModemNews) -> None:
    """Lost, ready, or what the modem says of itself."""
    if isinstance(news, ModemLost):
        begin(moment, "sim-trouble" if news.kind == "sim" else "modem-lost", {"why": news.why})
    elif isinstance(news, ModemReady):
        end(moment, "modem-lost", "modem-back", {"model": news.model, "notes": list(news.notes)})
        end(moment, "sim-trouble", "sim-back", {})
        moment.tx.set_mark(
            "gateway:modem",
            {
                "model": news.model,
                "memories": list(news.memories),
                "announces": news.announces,
                "notes": list(news.notes),
            },
        )
    elif isinstance(news, Condition):
        _condition(moment, news)


def _condition(moment: Moment, news: Condition) -> None:
    moment.tx.set_mark(
        "gateway:condition",
        {
            "signal_percent": news.signal_percent,
            "registered": news.registered,
            "operator": news.operator,
            "sim": news.sim,
            "at": moment.now.isoformat(),
        },
    )
    if news.registered is False:
        begin(moment, "signal-lost", {})
    elif news.registered:
        end(moment, "signal-lost", "signal-back", {})


def store_back(moment: Moment, said: str) -> None:
    """The store could not be written for a while; now both ends of it are on record."""
    _event(moment, "store-trouble", {"why": said}, tell=False)
    _event(moment, "store-back", {"why": said})


def backed_up(moment: Moment, said: str | None) -> None:
    """The day's backup was made, or could not be: told once until one succeeds."""
    if said is None:
        _event(moment, "backup-made", {}, tell=False)
        end(moment, "backup-failed", "backup-back", {})
    else:
        begin(moment, "backup-failed", {"why": said})


def clock_set(moment: Moment) -> None:
    """The clock was untrusted and is set now."""
    end(moment, "clock-untrusted", "clock-set", {})


def clock_unset(moment: Moment) -> None:
    """The clock shows a time that cannot be."""
    begin(moment, "clock-untrusted", {})


def reloaded(moment: Moment) -> None:
    """A new configuration is in force."""
    publish(moment)
    _event(moment, "reloaded", {})


def reload_refused(moment: Moment, problems: list[str]) -> None:
    """A new configuration had mistakes; the old one stays in force."""
    _event(moment, "reload-refused", {"count": str(len(problems)), "problems": problems})


def odd(moment: Moment, said: str) -> None:
    """A mistake of ours, kept for whoever looks into it; told once a day that there was one."""
    told = time_of(moment.tx.mark(ODD_TOLD))
    again = told is None or abs(moment.now - told) >= ODD_TOLD_EVERY
    if again:
        moment.tx.set_mark(ODD_TOLD, moment.now.isoformat())
    _event(moment, "odd", {"why": said}, tell=again)


def trouble_since(reader: Reader, kind: str) -> datetime | None:
    """When a trouble that is not over yet began; None: there is none of that kind."""
    return time_of(reader.mark(_mark(kind)))


def begin(moment: Moment, kind: EventKind, detail: Mapping[str, Any]) -> None:
    """A trouble begins: once, until it is over."""
    if trouble_since(moment.tx, kind) is not None:
        return
    moment.tx.set_mark(_mark(kind), moment.now.isoformat())
    _event(moment, kind, detail, tell=kind not in CANNOT_LEAVE)


def end(moment: Moment, began: EventKind, over: EventKind, detail: Mapping[str, Any]) -> None:
    """A trouble is over: once, told with how long it lasted if it was long enough to matter."""
    since = trouble_since(moment.tx, began)
    if since is None:
        return
    moment.tx.set_mark(_mark(began), None)
    lasted = moment.now - since
    told = lasted >= timedelta(minutes=5) or began not in CANNOT_LEAVE
    _event(moment, over, {**detail, "lasted_s": lasted.total_seconds()}, tell=told)


def _mark(kind: str) -> str:
    return f"gateway:{kind}"


def _event(moment: Moment, kind: EventKind, detail: Mapping[str, Any], *, tell: bool = True) -> Event:
    return happen(
        moment, Event(kind=kind, at=moment.now, heard_at=moment.now, known_at=moment.now, detail=detail), tell=tell
    )


def _with(event: Event, detail: Mapping[str, Any]) -> Event:
    from dataclasses import replace

    return replace(event, detail=detail)
