"""A tank has filled → whether its supply has grown weaker: one event until it is well again."""

import math

from gateway.facts import Event
from gateway.facts.states import SupplyWeaker
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.status.forecast import learnt_of
from gateway.water.demand import demand_l_day
from gateway.water.pump_health import delivered


def watch_supply(unit: UnitOfWork, filled: Event) -> list[Event]:
    """After a `high`: a `supply-weaker` to be recorded, if the supply is weaker and that was not said yet."""
    if filled.tank is None:
        return []
    learnt = learnt_of(unit.tx, unit.site, unit.now)
    use = demand_l_day(unit.site.settings.demand) * math.exp(learnt.use.mean)
    supply = delivered(learnt.past(filled.tank).fills, use)
    if supply is None:
        return []
    if unit.tx.state(SupplyWeaker, filled.tank) is not None:
        if not supply.weaker:
            unit.tx.clear_state(SupplyWeaker, filled.tank)
        return []
    if not supply.weaker:
        return []
    unit.tx.set_state(SupplyWeaker(told_at=unit.now), filled.tank)
    detail = {"was": f"{supply.first_l_min:.1f} l/min", "now": f"{supply.last_l_min:.1f} l/min"}
    return [unit.event("supply-weaker", detail, at=filled.at, tank=filled.tank)]
