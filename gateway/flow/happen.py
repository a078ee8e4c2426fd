"""Something was learnt → it is stored and, where somebody should know, told.

The one place where an event enters the store. Nothing is told of an import, nor of work on a tank while it is paused.
"""

from gateway.facts import Event
from gateway.flow.house import Moment
from gateway.flow.supply import watch_supply
from gateway.flow.tell import announce


def happen(moment: Moment, event: Event, *, tell: bool = True) -> Event:
    """The same event with its id; messages are in the outbox of the same commit."""
    stored = moment.tx.keep_event(event)
    if tell and not moment.imported:
        announce(moment, stored)
        weaker = watch_supply(moment, stored)
        if weaker is not None:
            happen(moment, weaker)
    return stored
