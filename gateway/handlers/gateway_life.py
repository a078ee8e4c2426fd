"""The gateway's own life → plain events: started and stopped, modem, SIM and signal lost and back, the store, the clock."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from gateway.facts.states.gateway_itself import (
    ClockEvidence,
    ConfigurationKept,
    KnownConfiguration,
    MemoryKept,
    MistakeTold,
    ModemCondition,
    ModemIdentity,
    ModemUnknownLines,
    Outage,
    OwnNumber,
    PublishedSite,
)
from gateway.handlers.alarms import end_alarms_of_nothing
from gateway.handlers.event_followers import record_event
from gateway.handlers.gateway_health import begin_trouble, end_trouble
from gateway.handlers.memory_room import watch_memories
from gateway.handlers.notify import notify
from gateway.handlers.text_clock import clock_stepped
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.inbox import clock_standing, clock_trusted
from gateway.ports import Condition, ModemLost, ModemNews, ModemReady, UnknownLinesSeen
from gateway.settings.masked_text import masked_text
from gateway.settings.settings_changes import changes_between, written_values
from gateway.settings.sharing import shared_settings

ODD_TOLD_EVERY = timedelta(days=1)
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
    record_event(unit, unit.event("gateway-started", detail), tell=False)
    clock_stepped(unit)
    publish(unit)
    record_configuration(unit)
    unit.tx.clear_state(Outage)
    if off_since is not None and unit.now - off_since >= OUTAGE_TOLD and unit.trusted:
        off_s, cleanly = (unit.now - off_since).total_seconds(), stopped_at is not None
        unit.tx.set_state(Outage(since=off_since, off_s=off_s, cleanly=cleanly, surely=known is not None))
    watch_clock(unit)


def tell_outage(unit: UnitOfWork) -> None:
    """Once the store was swept after a long outage: since when, until when, and how many texts came meanwhile."""
    outage = unit.tx.state(Outage)
    if outage is None:
        return
    unit.tx.clear_state(Outage)
    came = sum(1 for text in unit.tx.texts(since=outage.since) if text.way == "in" and text.state != "repeat")
    last = unit.tx.last_event(("gateway-started",))
    if last is not None:
        detail = {"from": outage.since.isoformat(), "off_s": outage.off_s, "cleanly": outage.cleanly}
        notify(unit, replace(last, detail={**detail, "surely": outage.surely, "count": str(came)}))


def stopped(unit: UnitOfWork) -> None:
    """On record at each orderly end."""
    record_event(unit, unit.event("gateway-stopped"), tell=False)


def modem_news(unit: UnitOfWork, news: ModemNews) -> None:
    """Lost, ready, or what the modem says of itself."""
    if isinstance(news, ModemLost):
        if news.kind == "sim":
            begin_trouble(unit, "sim-trouble", {"why": news.why, "reason": f"sim-{news.sim or 'fails'}"})
        else:
            begin_trouble(unit, "modem-lost", {"why": news.why, "reason": f"modem-{news.kind}"})
    elif isinstance(news, ModemReady):
        end_trouble(unit, "modem-lost", "modem-back", {"model": news.model, "notes": list(news.notes)})
        end_trouble(unit, "sim-trouble", "sim-back", {})
        unit.tx.set_state(
            ModemIdentity(model=news.model, memories=news.memories, announces=news.announces, notes=news.notes)
        )
        if news.number is not None:
            unit.tx.set_state(OwnNumber(number=unit.site.number(news.number)))
        else:
            unit.tx.clear_state(OwnNumber)
    elif isinstance(news, Condition):
        _condition(unit, news)
    elif isinstance(news, UnknownLinesSeen):
        unit.tx.set_state(ModemUnknownLines(lines=news.lines, at=unit.now))


def store_back(unit: UnitOfWork, why: str) -> None:
    """The store could not be written for a while; now both ends of it are on record."""
    record_event(unit, unit.event("store-trouble", {"why": why}), tell=False)
    record_event(unit, unit.event("store-back", {"why": why}))


def backed_up(unit: UnitOfWork, trouble: str | None) -> None:
    """The day's backup was made, or could not be (`trouble` says why): told once until one succeeds."""
    if trouble is None:
        record_event(unit, unit.event("backup-made"), tell=False)
        end_trouble(unit, "backup-failed", "backup-back", {})
    else:
        begin_trouble(unit, "backup-failed", {"why": trouble})


def watch_clock(unit: UnitOfWork) -> None:
    """The clock shows a time that cannot be, or another one than the network's stamps agree on; or it is right again."""
    clock = clock_standing(unit.now, unit.tx.state(ClockEvidence), synchronised=unit.synchronised)
    if clock.verdict == "right":
        end_trouble(unit, "clock-untrusted", "clock-set", {})
    elif clock.verdict == "wrong":
        off = {} if clock.never_set else {"off_s": clock.may_be_off.total_seconds()}
        begin_trouble(unit, "clock-untrusted", off)


def reloaded(unit: UnitOfWork) -> None:
    """A new configuration is in force."""
    publish(unit)
    record_configuration(unit)
    record_event(unit, unit.event("reloaded"))


def publish(unit: UnitOfWork) -> None:
    """What other gateways on the same store may know of this house is kept for them."""
    unit.tx.set_state(PublishedSite(configuration=shared_settings(unit.site.settings)))


def record_configuration(unit: UnitOfWork) -> None:
    """What changed in the configuration since the one before is on record, also where it was changed while nothing ran."""
    known, written = unit.tx.state(KnownConfiguration), written_values(unit.site.as_written)
    keep_configuration(unit)
    before = dict(known.written) if known is not None else written
    if known is None or before != written:
        unit.tx.set_state(KnownConfiguration(written=tuple(written.items())))
    changes = changes_between(before, written)
    ended = end_alarms_of_nothing(unit)
    if changes or ended:
        detail: dict[str, Any] = {"changes": [change.as_json() for change in changes]}
        if ended:
            detail["alarms_ended"] = ended
        record_event(unit, unit.event("configuration-changed", detail))


def keep_configuration(unit: UnitOfWork) -> None:
    """The file itself goes with every backup of the record, without its secrets."""
    masked = masked_text(unit.site.as_written)
    if masked is not None:
        unit.tx.set_state(ConfigurationKept(text=masked.text, secrets=masked.secrets))


def reload_refused(unit: UnitOfWork, problems: list[str]) -> None:
    """A new configuration had mistakes; the old one stays in force."""
    record_event(unit, unit.event("reload-refused", {"count": str(len(problems)), "problems": problems}))


def odd(unit: UnitOfWork, why: str) -> None:
    """A mistake of ours, kept for whoever looks into it; told once a day that there was one."""
    told = unit.tx.state(MistakeTold)
    again = told is None or abs(unit.now - told.at) >= ODD_TOLD_EVERY
    if again:
        unit.tx.set_state(MistakeTold(at=unit.now))
    record_event(unit, unit.event("odd", {"why": why}), tell=again)


def _condition(unit: UnitOfWork, news: Condition) -> None:
    unit.tx.set_state(
        ModemCondition(
            signal_percent=news.signal_percent,
            registered=news.registered,
            operator=news.operator,
            sim=news.sim,
            at=unit.now,
            memories=tuple(
                MemoryKept(
                    name=memory.name, total=memory.total, own=memory.own, stuck=memory.stuck, is_read=memory.is_read
                )
                for memory in news.memories
            ),
        )
    )
    watch_memories(unit, news.memories)
    if news.registered is False:
        begin_trouble(unit, "signal-lost", {})
    elif news.registered:
        end_trouble(unit, "signal-lost", "signal-back", {})


def _believed(unit: UnitOfWork, at: datetime | None) -> datetime | None:
    """A time from an unset or wrong clock says nothing."""
    return at if at is not None and at < unit.now and clock_trusted(at) else None
