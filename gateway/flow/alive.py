"""Signs of life: a text was heard, power came or went, a voltage was read → what is known of the controller.

Marks: `silent:<id>` while it is flagged, `asked:<id>` the last time it was asked, `power:<id>` while it is without power,
`battery:<id>` the battery's spell.
"""

from dataclasses import replace
from datetime import datetime

from gateway.facts import Event, Reading, Text
from gateway.flow.battery import lasts_h
from gateway.flow.happen import happen
from gateway.flow.house import House, Moment
from gateway.flow.limits import limit_of
from gateway.power.watch import BatterySpell, What, judge_percent, judge_volts
from gateway.settings.models import Controller


def heard(moment: Moment, controller: Controller, text: Text) -> None:
    """The controller was heard; a silence that this ends is over. A late text is evidence of then: it only began later."""
    flagged = moment.tx.mark(f"silent:{controller.id}")
    if moment.imported or flagged is None:
        return
    limit = limit_of(moment.tx, controller)
    since = datetime.fromisoformat(flagged["since"])
    if limit is not None and moment.now - text.at >= limit:
        later = max(since, text.at)
        moment.tx.set_mark(f"silent:{controller.id}", {**flagged, "since": later.isoformat()})
        return
    moment.tx.set_mark(f"silent:{controller.id}", None)
    happen(
        moment,
        Event(
            kind="heard-again",
            at=text.at,
            heard_at=moment.now,
            known_at=moment.now,
            controller=controller.id,
            text=text.text,
            sender=text.number,
            detail={"lasted_s": (text.at - since).total_seconds()},
        ),
    )


def power_changed(moment: Moment, controller: Controller, kind: str, event: Event) -> Event:
    """`power-lost` or `power-back`, once each per spell; said again it is only a sign of life."""
    key = f"power:{controller.id}"
    lost = moment.tx.mark(key)
    if moment.imported:
        return happen(moment, replace(event, kind="power-lost" if kind == "power-lost" else "power-back"))
    if (kind == "power-lost") == (lost is not None):
        return happen(moment, replace(event, detail={**event.detail, "still": kind}))
    if kind == "power-lost":
        moment.tx.set_mark(key, {"since": event.at.isoformat()})
        lasts = lasts_h(moment.tx, moment.house, controller, event)
        detail = {**event.detail, **({} if lasts is None else {"lasts_h": lasts})}
        return happen(moment, replace(event, kind="power-lost", detail=detail))
    moment.tx.set_mark(key, None)
    lasted = (event.at - datetime.fromisoformat(lost["since"])).total_seconds()
    return happen(moment, replace(event, kind="power-back", detail={**event.detail, "lasted_s": lasted}))


def battery_read(moment: Moment, controller: Controller, text: Text, reading: Reading) -> None:
    """A voltage or a charge in percent came: the battery's spell goes on; low is told once, well again once.

    Volts weigh more: where a controller tells volts at all, its percents are kept and judge nothing.
    """
    if moment.imported:
        return
    key = f"battery:{controller.id}"
    spell = BatterySpell.from_json(moment.tx.mark(key))
    what: What | None = None
    if reading.volts is not None:
        spell, what = judge_volts(spell, text.at, reading.volts, reading.celsius, controller.power)
    elif reading.percent is not None and spell.last_volts is None:
        spell, what = judge_percent(spell, text.at, reading.percent)
    moment.tx.set_mark(key, spell.as_json())
    if what is None:
        return
    happen(
        moment,
        Event(
            kind=what,
            at=text.at,
            heard_at=moment.now,
            known_at=moment.now,
            controller=controller.id,
            text=text.text,
            sender=text.number,
            detail={"percent": reading.percent} if reading.volts is None else {"volts": reading.volts},
        ),
    )


def tanks_said(house: House, controller: str) -> str:
    """The names of the tanks that hang on a controller, for a message."""
    return ", ".join(tank.name for tank in house.tanks_of(controller))
