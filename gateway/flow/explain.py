"""A message that waits in the outbox → when it would leave, for `explain`."""

from gateway.facts import Message
from gateway.flow.deliver import quiet_for
from gateway.flow.house import Moment


def message_when(moment: Moment, message: Message) -> str:
    """`now`, or `held` where quiet hours or the day's limit hold it."""
    if message.urgent:
        return "now"
    if quiet_for(moment.house, moment.now)(message) is not None:
        return "held"
    return "now"
