"""Signs of life: a text was heard, power came or went, a voltage was read → what is known of the controller.

Marks: `silent:<id>` while it is flagged, `asked:<id>` the last time it was asked, `power:<id>` while it is without power,
`battery:<id>` the battery's episode.
"""

from dataclasses import replace
from datetime import datetime

from gateway.facts import Event, Reading, Text
from gateway.handlers.record import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.power.watch import BatteryEpisode, What, judge_percent, judge_volts
from gateway.settings.models import Controller
from gateway.site import Site
from gateway.status.battery import lasts_h
from gateway.status.silence_limit import limit_of


def heard(unit: UnitOfWork, controller: Controller, text: Text) -> None:
    """The controller was heard; a silence that this ends is over. A late text is evidence of then: it only began later."""
    flagged = unit.tx.mark(f"silent:{controller.id}")
    if unit.imported or flagged is None:
        return
    limit = limit_of(unit.tx, controller)
    since = datetime.fromisoformat(flagged["since"])
    if limit is not None and unit.now - text.at >= limit:
        later = max(since, text.at)
        unit.tx.set_mark(f"silent:{controller.id}", {**flagged, "since": later.isoformat()})
        return
    unit.tx.set_mark(f"silent:{controller.id}", None)
    record_event(
        unit,
        Event(
            kind="heard-again",
            at=text.at,
            heard_at=unit.now,
            known_at=unit.now,
            controller=controller.id,
            text=text.text,
            sender=text.number,
            detail={"lasted_s": (text.at - since).total_seconds()},
        ),
    )


def power_changed(unit: UnitOfWork, controller: Controller, kind: str, event: Event) -> Event:
    """`power-lost` or `power-back`, once each per episode; said again it is only a sign of life."""
    key = f"power:{controller.id}"
    lost = unit.tx.mark(key)
    if unit.imported:
        return record_event(unit, replace(event, kind="power-lost" if kind == "power-lost" else "power-back"))
    if (kind == "power-lost") == (lost is not None):
        return record_event(unit, replace(event, detail={**event.detail, "still": kind}))
    if kind == "power-lost":
        unit.tx.set_mark(key, {"since": event.at.isoformat()})
        lasts = lasts_h(unit.tx, unit.site, controller, event)
        detail = {**event.detail, **({} if lasts is None else {"lasts_h": lasts})}
        return record_event(unit, replace(event, kind="power-lost", detail=detail))
    unit.tx.set_mark(key, None)
    lasted = (event.at - datetime.fromisoformat(lost["since"])).total_seconds()
    return record_event(unit, replace(event, kind="power-back", detail={**event.detail, "lasted_s": lasted}))


def battery_read(unit: UnitOfWork, controller: Controller, text: Text, reading: Reading) -> None:
    """A voltage or a charge in percent came: the battery's episode goes on; low is told once, well again once.

    Volts weigh more: where a controller tells volts at all, its percents are kept and judge nothing.
    """
    if unit.imported:
        return
    key = f"battery:{controller.id}"
    episode = BatteryEpisode.from_json(unit.tx.mark(key))
    what: What | None = None
    if reading.volts is not None:
        episode, what = judge_volts(episode, text.at, reading.volts, reading.celsius, controller.power)
    elif reading.percent is not None and episode.last_volts is None:
        episode, what = judge_percent(episode, text.at, reading.percent)
    unit.tx.set_mark(key, episode.as_json())
    if what is None:
        return
    record_event(
        unit,
        Event(
            kind=what,
            at=text.at,
            heard_at=unit.now,
            known_at=unit.now,
            controller=controller.id,
            text=text.text,
            sender=text.number,
            detail={"percent": reading.percent} if reading.volts is None else {"volts": reading.volts},
        ),
    )


def tanks_said(site: Site, controller: str) -> str:
    """The names of the tanks that hang on a controller, for a message."""
    return ", ".join(tank.name for tank in site.tanks_of(controller))
