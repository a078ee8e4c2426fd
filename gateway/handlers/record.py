"""Something was learnt → it is stored and, where somebody should know, told.

The one place where an event enters the store. Nothing is told of an import, nor of work on a tank while it is paused; what
ends an alarm closes its call-out all the same.
"""

from gateway.facts import Event
from gateway.handlers import callouts
from gateway.handlers.notify import notify
from gateway.handlers.supply import watch_supply
from gateway.handlers.unit_of_work import UnitOfWork


def record_event(unit: UnitOfWork, event: Event, *, tell: bool = True, past: bool = False) -> Event:
    """The same event with its id; messages are in the outbox of the same commit. `past`: it says nothing of the present."""
    stored = unit.tx.keep_event(event)
    if not (past or unit.imported):
        callouts.alarm_over(unit, stored)
    if tell and not unit.imported:
        notify(unit, stored)
        weaker = watch_supply(unit, stored)
        if weaker is not None:
            record_event(unit, weaker)
    return stored
