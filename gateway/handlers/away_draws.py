"""Nobody is there, and a tank that feeds the house loses water all the same → `draw-while-away`."""

from gateway.facts import Event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.status.levels import litres_of
from gateway.status.presence import away_now
from gateway.water.volumes import capacity_l

DRAWN_SHARE = 0.03
"""So much of a tank must be gone by its gauge: less is the gauge's own."""


def watch_draws(unit: UnitOfWork, switch: Event) -> list[Event]:
    """A float that the water fell below since everybody left, or a gauge that fell by more than it errs."""
    away = away_now(unit.tx, unit.now)
    house = switch.tank in unit.site.house_tanks()
    if away is None or not house or switch.at <= away.since or switch.detail.get("time") == "late":
        return []
    if switch.kind == "level" and not _fell(unit, switch):
        return []
    return [unit.event("draw-while-away", {"away_since": away.since.isoformat()}, at=switch.at, tank=switch.tank)]


def _fell(unit: UnitOfWork, level: Event) -> bool:
    away = away_now(unit.tx, unit.now)
    tank = unit.site.tanks[level.tank or ""]
    if away is None or tank.shape is None:
        return False
    for gauge in unit.site.gauges_of(tank.id):
        litres = [amount for at, amount in litres_of(unit.tx, gauge, level.at) if at >= away.since]
        if len(litres) > 1 and max(litres) - max(litres[-2:]) >= DRAWN_SHARE * capacity_l(tank.shape):
            return True
    return False
