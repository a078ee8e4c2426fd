"""A text to a controller was handed to the modem → the errand that it belongs to has left, or may have.

Nothing here records an event: the modem's answer is stored with the next message in one commit.
"""

from dataclasses import replace
from datetime import timedelta

from gateway.facts import Message, OutState
from gateway.facts.states.errands_and_tests import ErrandUnderWay, Switched
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.status.errands import errand_called


def note_errand_left(unit: UnitOfWork, message: Message, state: OutState) -> None:
    """`sent`: it left; `unsure`: it may have. What switches is then ended after its time, whatever is answered, also over a restart."""
    if message.contact is not None or state not in ("sent", "unsure"):
        return
    for controller_id, under_way in unit.tx.states(ErrandUnderWay).items():
        if under_way.message != message.id:
            continue
        unit.tx.set_state(replace(under_way, sent_at=unit.now), controller_id)
        controller = unit.site.controllers.get(controller_id)
        errand = errand_called(controller, under_way.errand) if controller is not None else None
        key = f"{controller_id}:{under_way.errand}"
        # a further try must not put the end off: what the first one began runs since then
        runs = under_way.tries > 1 and unit.tx.state(Switched, key) is not None
        if errand is not None and errand.longest > timedelta(0) and not runs:
            switched = Switched(by=under_way.by, since=unit.now, until=unit.now + errand.longest)
            unit.tx.set_state(switched, key)


def leaves_no_more(unit: UnitOfWork, message: Message) -> bool:
    """Whether it may have left already and must not a second time: what sets or switches could do it twice."""
    if message.contact is not None or not message.possible_repeat:
        return False
    for controller_id, under_way in unit.tx.states(ErrandUnderWay).items():
        if under_way.message == message.id:
            controller = unit.site.controllers.get(controller_id)
            errand = errand_called(controller, under_way.errand) if controller is not None else None
            return errand is None or errand.risk != "looks"
    return False
