"""A tank has filled → whether its supply has grown weaker: one event and one message until it is well again."""

import math

from gateway.facts import Event
from gateway.flow.forecast import learnt_of
from gateway.flow.house import Moment
from gateway.water.demand import demand_l_day
from gateway.water.pumphealth import delivered


def watch_supply(moment: Moment, filled: Event) -> Event | None:
    """After a `high`: the event to store, if the supply is weaker and that was not said yet."""
    if filled.kind != "high" or filled.tank is None:
        return None
    learnt = learnt_of(moment.tx, moment.house, moment.now)
    use = demand_l_day(moment.house.settings.demand) * math.exp(learnt.usual.mean)
    found = delivered(learnt.past(filled.tank).fills, use)
    key = f"supply-weaker:{filled.tank}"
    if found is None:
        return None
    if moment.tx.mark(key) is not None:
        if found.well:
            moment.tx.set_mark(key, None)
        return None
    if not found.weaker:
        return None
    moment.tx.set_mark(key, moment.now.isoformat())
    return Event(
        kind="supply-weaker",
        at=filled.at,
        heard_at=moment.now,
        known_at=moment.now,
        tank=filled.tank,
        detail={"was": f"{found.first_l_min:.1f} l/min", "now": f"{found.last_l_min:.1f} l/min"},
    )
