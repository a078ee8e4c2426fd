"""When a contact's words were written, and whether they can mean what stands now: a text may lie for days before it is read (fault 71)."""

from datetime import datetime, timedelta

from gateway.facts import Text
from gateway.handlers.enqueue import reply_with
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.phrases.phrasebook import When
from gateway.settings.people_tables import Contact
from gateway.settings.water_tables import Tank
from gateway.status.silence import clock_off
from gateway.status.snapshot import float_after, last_switch

SAME_MOMENT = timedelta(seconds=30)
"""A stamp has whole seconds, and the network's clock and ours part by some: within this an order is taken to answer what is told."""


def written_at(unit: UnitOfWork, text: Text) -> datetime:
    """When it was written, by our own clock; now where nobody knows."""
    return min(text.at - clock_off(unit.tx, unit.now), unit.now)


def written_before(unit: UnitOfWork, text: Text, began: datetime) -> bool:
    """Whether it was written before that began, and so cannot be about it."""
    return written_at(unit, text) + SAME_MOMENT < began


def written_before_alarm_of(unit: UnitOfWork, text: Text, tank: Tank) -> bool:
    """Whether one of the tank's floats said only since then that it is low (or high)."""
    switches = (last_switch(unit.tx, placed, unit.now) for placed in unit.site.floats_of(tank.id))
    active = [switch for switch in switches if switch is not None and float_after(switch) == "active"]
    return any(written_before(unit, text, switch.heard_at) for switch in active)


def reply_late(unit: UnitOfWork, contact: Contact, text: Text, matters: str | None = None) -> None:
    """It was written before what stands now, or is over by now: nothing is done, and its writer learns that."""
    reply_with(unit, contact, "late", {"since": When(text.at, unit.now, unit.site.zone), "matters": matters})
