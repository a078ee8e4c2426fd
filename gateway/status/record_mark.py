"""What tells whether anything is new on record, so that nobody who shows it to others needs to look at all of it."""

from gateway.facts.states.gateway_itself import ModemCondition
from gateway.ports import Reader

RecordMark = tuple[object, ...]


def record_mark(reader: Reader) -> RecordMark:
    """Another value whenever a text came or was put into the outbox, something left, was learnt, or the modem said something else: a few
    look-ups."""
    condition = reader.state(ModemCondition)
    said = None if condition is None else (condition.signal_percent, condition.registered)
    return (
        reader.last_id("events"),
        reader.last_id("texts"),
        reader.last_handed(1),
        reader.outbox_waits(),
        said,
    )
