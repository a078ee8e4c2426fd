"""A message that waits in the outbox → when it would leave, for `explain`."""

from gateway.facts import Message
from gateway.handlers.deliver import quiet_for
from gateway.handlers.unit_of_work import UnitOfWork


def message_when(unit: UnitOfWork, message: Message) -> str:
    """`now`, or `held` where quiet hours or the day's limit hold it."""
    if message.urgent:
        return "now"
    if quiet_for(unit.site, unit.now)(message) is not None:
        return "held"
    return "now"
