"""A temperature of a box or of the air → frost is told once a night, before it reaches the pipes or the battery; else once a season.

Water freezes at 0 C, a lead battery the sooner the flatter it is: by the row of the published tables that its lowest voltage of the last
day gives. Boxes without a thermometer go by the monthly means of their configuration.
"""

from datetime import date, datetime, timedelta

from gateway.facts import Event, EventKind, Reading, Text
from gateway.facts.states.controllers_and_tanks import FrostNights, FrostSeason
from gateway.handlers.event_followers import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.power.freezing import NO_CHARGE_BELOW_C, FreezingRow, freezing_row
from gateway.power.low_battery import believable
from gateway.settings.controller_tables import Controller, Power
from gateway.status.cold_season import cold_seasons

PIPES_FREEZE_C = 0.0
NEAR_K = 3.0
"""Told so far above a limit: a clear night falls by a degree or more an hour (common practice)."""
VOLTS_LOOK_BACK = timedelta(days=1)
EVENTS_LOOKED_AT = 200
NOT_COLD = ("water", "battery")
"""Whose temperature is no frost: a trough has limits of its own, and a battery that charges is warm."""


def cold_read(unit: UnitOfWork, controller: Controller, text: Text, reading: Reading) -> None:
    """A temperature came: what is near its limit tonight and was not told tonight is told."""
    celsius = reading.numbers.get("celsius")
    if celsius is None or unit.imported or controller.rules[reading.rule - 1].of in NOT_COLD:
        return
    night = _night_of(unit, text.at)
    told = unit.tx.state(FrostNights, controller.id) or FrostNights()
    pipes = celsius <= PIPES_FREEZE_C + NEAR_K and (told.pipes is None or told.pipes < night)
    battery = (told.battery is None or told.battery < night) and _near_battery(unit, controller, text.at, celsius)
    if not pipes and not battery:
        return
    after = FrostNights(pipes=night if pipes else told.pipes, battery=night if battery else told.battery)
    unit.tx.set_state(after, controller.id)
    if pipes:
        record_event(unit, _of_text(unit, controller, text, "frost", {"celsius": celsius}))
    if battery:
        record_event(unit, _of_text(unit, controller, text, "battery-frost", {"celsius": celsius, **battery}))


def tell_cold_season(unit: UnitOfWork) -> None:
    """Boxes without a thermometer: once, as soon as the month that comes may freeze by its mean."""
    for controller, month, mean in tuple(cold_seasons(unit.tx, unit.site, unit.now)):
        unit.tx.set_state(FrostSeason(told_at=unit.now), controller.id)
        detail = {"month": month, "celsius": mean}
        record_event(unit, unit.event("frost-season", detail, controller=controller.id))


def _night_of(unit: UnitOfWork, at: datetime) -> date:
    """The day on whose evening the night began: from noon to noon."""
    return (at.astimezone(unit.site.zone) - timedelta(hours=12)).date()


def _near_battery(unit: UnitOfWork, controller: Controller, at: datetime, celsius: float) -> dict[str, object] | None:
    """What is told of the battery where it is near its limit; None where it is not, or nobody knows what battery it is."""
    power = controller.power
    if power is None:
        return None
    if power.battery.chemistry == "lifepo4":
        near = celsius <= NO_CHARGE_BELOW_C + NEAR_K
        return {"freezes_c": NO_CHARGE_BELOW_C, "lithium": True} if near else None
    row = _row(unit, controller, power, at)
    if row is None or celsius > row.celsius + NEAR_K:
        return None
    return {"freezes_c": row.celsius, "gravity": row.gravity, "row": row.source}


def _row(unit: UnitOfWork, controller: Controller, power: Power, at: datetime) -> FreezingRow | None:
    """By its lowest believable voltage of the last day: the newest may be one under charge, which says that it is fuller than it is."""
    events = unit.tx.events(
        controller=controller.id, since=at - VOLTS_LOOK_BACK, until=at, known_by=unit.now, limit=EVENTS_LOOKED_AT
    )
    read = [volts for event in events if isinstance(volts := event.detail.get("volts"), int | float)]
    believed = [volts for volts in read if believable(volts, power.battery.volts)]
    return freezing_row(min(believed), power.battery.volts) if believed else None


def _of_text(unit: UnitOfWork, controller: Controller, text: Text, kind: EventKind, detail: dict[str, object]) -> Event:
    return unit.event(kind, detail, at=text.at, controller=controller.id, text=text.text, sender=text.number)
