"""Something was learnt → it is stored and, where somebody should know, told.

The one place where an event enters the store. Nothing is told of an import, nor of work on a tank while it is paused; what
ends a matter closes its call-out all the same.
"""

from gateway.facts import Event
from gateway.flow import callouts
from gateway.flow.house import Moment
from gateway.flow.supply import watch_supply
from gateway.flow.tell import announce


def happen(moment: Moment, event: Event, *, tell: bool = True, past: bool = False) -> Event:
    """The same event with its id; messages are in the outbox of the same commit. `past`: it says nothing of the present."""
    stored = moment.tx.keep_event(event)
    if not (past or moment.imported):
        callouts.matter_over(moment, stored)
    if tell and not moment.imported:
        announce(moment, stored)
        weaker = watch_supply(moment, stored)
        if weaker is not None:
            happen(moment, weaker)
    return stored
