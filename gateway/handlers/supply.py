"""A tank has filled → whether its supply has grown weaker: one event and one message until it is well again."""

import math

from gateway.facts import Event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.status.forecast import learnt_of
from gateway.water.demand import demand_l_day
from gateway.water.pumphealth import delivered


def watch_supply(unit: UnitOfWork, filled: Event) -> Event | None:
    """After a `high`: the event to store, if the supply is weaker and that was not said yet."""
    if filled.kind != "high" or filled.tank is None:
        return None
    learnt = learnt_of(unit.tx, unit.site, unit.now)
    use = demand_l_day(unit.site.settings.demand) * math.exp(learnt.usual.mean)
    found = delivered(learnt.past(filled.tank).fills, use)
    key = f"supply-weaker:{filled.tank}"
    if found is None:
        return None
    if unit.tx.mark(key) is not None:
        if found.well:
            unit.tx.set_mark(key, None)
        return None
    if not found.weaker:
        return None
    unit.tx.set_mark(key, unit.now.isoformat())
    return Event(
        kind="supply-weaker",
        at=filled.at,
        heard_at=unit.now,
        known_at=unit.now,
        tank=filled.tank,
        detail={"was": f"{found.first_l_min:.1f} l/min", "now": f"{found.last_l_min:.1f} l/min"},
    )
