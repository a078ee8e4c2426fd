"""A tank has filled → whether its supply has grown weaker, by a step or as a spring recedes: one event of each until it is well again."""

from gateway.facts import Event
from gateway.facts.states.controllers_and_tanks import SupplyWeaker
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.status.forecast import learnt_of
from gateway.water.chain import use_share
from gateway.water.inflow import MINUTES_A_DAY
from gateway.water.pump_health import delivered
from gateway.water.recession import recession


def watch_supply(unit: UnitOfWork, filled: Event) -> list[Event]:
    """After a `high`: a `supply-weaker` to be recorded, if the supply is weaker and that was not said yet."""
    if filled.tank is None:
        return []
    learnt = learnt_of(unit.tx, unit.site, unit.now)
    tank = unit.site.tanks[filled.tank]
    of_these = learnt.of_share(use_share(unit.site.settings, tank))
    supply = delivered(learnt.past(filled.tank).fills, of_these.use_l_day)
    recedes = recession(learnt.shown, unit.now) if not tank.fed_by else None
    weaker = recedes is not None or (supply is not None and supply.weaker)
    told = unit.tx.state(SupplyWeaker, filled.tank)
    if told is not None and not weaker and supply is not None:
        unit.tx.clear_state(SupplyWeaker, filled.tank)
    if not weaker or (told is not None and (told.recedes or recedes is None)):
        return []
    unit.tx.set_state(SupplyWeaker(told_at=unit.now, recedes=recedes is not None), filled.tank)
    was, now, more = 0.0, 0.0, dict[str, object]()
    if recedes is not None:
        was, now = recedes.was_l_day / MINUTES_A_DAY, recedes.now_l_day / MINUTES_A_DAY
        more = {"share": recedes.share, "month": recedes.since.astimezone(unit.site.zone).month}
    elif supply is not None:
        was, now = supply.first_l_min, supply.last_l_min
    detail = {"was": f"{was:.1f} l/min", "now": f"{now:.1f} l/min", **more}
    return [unit.event("supply-weaker", detail, at=filled.at, tank=filled.tank)]
