"""A number whose rule has limits of its own → told once when it is beyond them, and once when it is well within again."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Literal

from gateway.facts import NUMBER_FIELDS, Event, EventKind, NumberName, Reading
from gateway.facts.states.controllers_and_tanks import NamedReading
from gateway.handlers.event_followers import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.settings.controller_tables import Controller, RuleTable

Side = Literal["", "low", "high"]
KINDS_OF: Mapping[Side, EventKind] = {"low": "reading-low", "high": "reading-high", "": "reading-back"}


def named_reading_read(unit: UnitOfWork, controller: Controller, reading: Reading, event: Event) -> None:
    """What follows from a reading of a rule with `low` or `high`; nothing where it says what was known."""
    rule = controller.rules[reading.rule - 1]
    field = next(iter(reading.numbers), None)
    if unit.imported or field is None or (rule.low is None and rule.high is None):
        return
    key = f"{controller.id}:{name_of(rule, field).casefold()}"
    before = unit.tx.state(NamedReading, key) or NamedReading()
    if before.at is not None and event.at < before.at <= unit.now:
        return
    side = _side(rule, reading.numbers[field], NUMBER_FIELDS[field].band, before.beyond)
    since = before.since if side == before.beyond else event.at
    unit.tx.set_state(NamedReading(beyond=side, since=since, at=event.at), key)
    if side == before.beyond:
        return
    detail: dict[str, Any] = {"name": name_of(rule, field), field: reading.numbers[field]}
    if side:
        detail["limit"] = rule.low if side == "low" else rule.high
    elif before.since is not None:
        detail["lasted_s"] = (event.at - before.since).total_seconds()
    record_event(unit, replace(event, kind=KINDS_OF[side], detail=detail))


def name_of(rule: RuleTable, field: NumberName) -> str:
    """What messages call it."""
    return rule.name or NUMBER_FIELDS[field].label


def _side(rule: RuleTable, value: float, band: float, before: Side) -> Side:
    """Beyond which of its limits it is; one that it was beyond it must leave by a band."""
    if rule.low is not None and (value < rule.low or (before == "low" and value < rule.low + band)):
        return "low"
    if rule.high is not None and (value > rule.high or (before == "high" and value > rule.high - band)):
        return "high"
    return ""
