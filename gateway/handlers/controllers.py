"""A controller was heard, told of its power or battery, or was not heard for long → events, and what is known of it.

fine → asked (one text to it) → silent (`silent`) → heard again (`heard-again`)
on mains → without power (`power-lost`) → on mains (`power-back`)
"""

from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any, Literal

from gateway.facts import Event, EventKind, Reading, Text
from gateway.facts.states.controllers_and_tanks import (
    Asked,
    BatteryEpisode,
    Overvoltage,
    PowerLost,
    Silence,
    TextsRarer,
    Watched,
    WatchedTogether,
)
from gateway.handlers.errands import ask_controller
from gateway.handlers.event_followers import record_event
from gateway.handlers.notify import notify_of_late
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.heartbeats.controller_verdict import Verdict
from gateway.inbox import clock_trusted, latest_possible
from gateway.power.high_voltage import is_too_high
from gateway.power.low_battery import What, distrust_future, judge_percent, judge_volts
from gateway.settings.controller_tables import Controller
from gateway.status.battery import lasts_h
from gateway.status.errands import unanswered_since
from gateway.status.silence import (
    clock_off,
    flagged_silent,
    last_heard,
    limit_of,
    losses_of,
    rhythm_of,
    silence_cause,
    verdict_of,
)


def controller_heard(unit: UnitOfWork, controller: Controller, text: Text) -> None:
    """The controller was heard: a silence that this ends is over, on record and told."""
    silence = unit.tx.state(Silence, controller.id)
    if unit.imported or silence is None:
        return
    limit = limit_of(unit.tx, controller)
    since = silence.since
    now = unit.now + clock_off(unit.tx, unit.now)
    if limit is not None and now - text.at >= limit:
        # a text that came late is evidence of the day it was written: the silence only began later
        unit.tx.set_state(replace(silence, since=max(since, text.at)), controller.id)
        return
    unit.tx.clear_state(Silence, controller.id)
    # a silence that a clock which was ahead began lasted nobody knows how long
    detail = {"lasted_s": (text.at - since).total_seconds()} if since <= text.at else {}
    record_event(unit, _of_text(unit, controller, text, "heard-again", detail))


def watch_losses_of(unit: UnitOfWork, controller: Controller, text: Text) -> None:
    """More of what is due by its rhythm stays away than usual: told once, and once that it comes again."""
    if unit.imported or text.doubt == "late" or controller.silence_after is None:
        return
    rhythm = rhythm_of(unit.tx, controller)
    if rhythm is None:
        return
    told, losses = unit.tx.state(TextsRarer, controller.id), losses_of(unit.tx, controller, rhythm)
    if losses.rarer and told is None:
        unit.tx.set_state(TextsRarer(told_at=unit.now, usual=losses.usual), controller.id)
        detail = {"since": losses.since.isoformat(), "count": losses.lost, "of": losses.due}
        record_event(unit, unit.event("texts-rarer", detail, at=text.at, controller=controller.id))
    elif not losses.rarer and told is not None:
        unit.tx.clear_state(TextsRarer, controller.id)
        lasted = {"lasted_s": max(0.0, (text.at - told.told_at).total_seconds())}
        record_event(unit, unit.event("texts-regular", lasted, at=text.at, controller=controller.id))


def power_changed(
    unit: UnitOfWork, controller: Controller, kind: Literal["power-lost", "power-back"], event: Event
) -> Event:
    """`power-lost` or `power-back` of the controller, once each per episode; said again it is only a sign of life."""
    lost = unit.tx.state(PowerLost, controller.id)
    if unit.imported:
        return record_event(unit, replace(event, kind=kind))
    if event.detail.get("time") == "late":
        past = record_event(unit, replace(event, kind=kind), past=True)
        notify_of_late(unit, past)
        return past
    if (kind == "power-lost") == (lost is not None):
        return record_event(unit, replace(event, detail={**event.detail, "still": kind}))
    if lost is None:
        unit.tx.set_state(PowerLost(since=event.at), controller.id)
        lasts = lasts_h(unit.tx, unit.site, controller, event)
        detail = {**event.detail, **({} if lasts is None else {"lasts_h": lasts})}
        return record_event(unit, replace(event, kind=kind, detail=detail))
    unit.tx.clear_state(PowerLost, controller.id)
    lasted = (event.at - lost.since).total_seconds()
    return record_event(unit, replace(event, kind=kind, detail={**event.detail, "lasted_s": lasted}))


def battery_read(unit: UnitOfWork, controller: Controller, text: Text, reading: Reading) -> None:
    """A voltage or a charge in percent came: the battery's episode goes on; low is told once, well again once.

    Volts weigh more: where a controller tells volts at all, its percents are kept and judge nothing.
    """
    if unit.imported or text.doubt == "late":
        return
    latest = latest_possible(text.at, unit.now, trusted=unit.trusted)
    episode = distrust_future(unit.tx.state(BatteryEpisode, controller.id) or BatteryEpisode(), latest)
    kind: What | None = None
    volts, percent = reading.numbers.get("volts"), reading.numbers.get("percent")
    if volts is not None:
        episode, kind = judge_volts(episode, text.at, volts, reading.numbers.get("celsius"), controller.power)
    elif percent is not None and episode.last_volts is None:
        episode, kind = judge_percent(episode, text.at, percent)
    unit.tx.set_state(episode, controller.id)
    if kind is not None:
        detail = {"percent": percent} if volts is None else {"volts": volts}
        record_event(unit, _of_text(unit, controller, text, kind, detail))


def watch_high_voltage(unit: UnitOfWork, controller: Controller, text: Text, volts: float) -> None:
    """Too high is told once, and once that it is over; a text that was overtaken says nothing of now."""
    before = unit.tx.state(Overvoltage, controller.id)
    if unit.imported or (before is not None and text.at < before.since <= unit.now):
        return
    high = is_too_high(volts, controller.power, before=before is not None)
    if high and before is None:
        unit.tx.set_state(Overvoltage(since=text.at), controller.id)
        record_event(unit, _of_text(unit, controller, text, "battery-high", {"volts": volts}))
    elif before is not None and not high:
        unit.tx.clear_state(Overvoltage, controller.id)
        record_event(unit, _of_text(unit, controller, text, "battery-high-over", {"volts": volts}))


def judge_controllers(unit: UnitOfWork) -> None:
    """One verdict for each controller, all at one time: asked, or found silent; none by a clock that was never set."""
    if not clock_trusted(unit.now):
        return
    _watch_who_is_configured(unit)
    fallen = []
    for controller in unit.site.settings.controllers:
        verdict = verdict_of(unit.tx, controller, unit.now)
        if verdict.ask_now:
            _ask(unit, controller)
        if verdict.state == "silent" and not flagged_silent(unit.tx, controller):
            fallen.append((controller, verdict))
    # told after all are judged: who fell silent together says where the cause lies
    for controller, verdict in fallen:
        _fall_silent(unit, controller, verdict, {other.id for other, _ in fallen})


def _watch_who_is_configured(unit: UnitOfWork) -> None:
    """Whoever is new in the file, or came back to it, is watched from now on; whoever left it no more."""
    together = unit.tx.state(WatchedTogether)
    watched = unit.tx.states(Watched)
    for controller in unit.site.settings.controllers:
        known = watched.pop(controller.id, None)
        if known is not None and known.since <= unit.now:
            continue
        since = unit.now
        if known is None and together is not None and _known(unit, controller):
            since = min(together.since, unit.now)
        unit.tx.set_state(Watched(since=since), controller.id)
    if together is not None:
        unit.tx.clear_state(WatchedTogether)
    for gone in watched:
        unit.tx.clear_state(Watched, gone)


def _known(unit: UnitOfWork, controller: Controller) -> bool:
    return flagged_silent(unit.tx, controller) or last_heard(unit.tx, controller, unit.now) is not None


def _ask(unit: UnitOfWork, controller: Controller) -> None:
    """Sends the controller what its owner wrote for that, as it is."""
    unit.tx.set_state(Asked(at=unit.now), controller.id)
    ask_controller(unit, controller)


def _fall_silent(unit: UnitOfWork, controller: Controller, verdict: Verdict, fallen: Collection[str]) -> None:
    # by our clock; what is told, and compared with texts, is the network's time
    since = (verdict.silent_since or unit.now) + clock_off(unit.tx, unit.now)
    unit.tx.set_state(Silence(since=since, flagged_at=unit.now), controller.id)
    detail = {
        "since": since.isoformat(),
        "never": last_heard(unit.tx, controller, unit.now) is None,
        **_asked_in_vain(unit, controller, since),
        **silence_cause(unit.tx, unit.site, unit.now, controller, since, fallen),
    }
    record_event(unit, unit.event("silent", detail, controller=controller.id))


def _asked_in_vain(unit: UnitOfWork, controller: Controller, since: datetime) -> dict[str, Any]:
    """When it was asked since, and gave no answer."""
    asked = unanswered_since(unit.tx, controller, since)
    return {"asked": asked.isoformat()} if asked is not None else {}


def _of_text(unit: UnitOfWork, controller: Controller, text: Text, kind: EventKind, detail: Mapping[str, Any]) -> Event:
    return unit.event(kind, detail, at=text.at, controller=controller.id, text=text.text, sender=text.number)
