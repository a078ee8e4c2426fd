"""Frozen values that travel through the house: texts, readings, events, messages, figures.

Every time in here is an aware datetime in UTC; every number says its unit in its name.
"""

from gateway.facts.event_kind import EventKind, Kind, Subject
from gateway.facts.events import Event
from gateway.facts.figures import Cause, CauseKind, Figure, Triple
from gateway.facts.kinds import KINDS, URGENT_KINDS, kinds_where
from gateway.facts.messages import Message, OutState
from gateway.facts.number_fields import NUMBER_FIELDS, NumberField, NumberName, numbers_in
from gateway.facts.readings import FloatState, Means, Reading, RuleRead, input_key
from gateway.facts.texts import (
    Content,
    Delivered,
    HeldPdu,
    InState,
    PartOf,
    Report,
    ReportOutcome,
    Text,
    TimeDoubt,
    Undecodable,
)

__all__ = [
    "KINDS",
    "NUMBER_FIELDS",
    "URGENT_KINDS",
    "Cause",
    "CauseKind",
    "Content",
    "Delivered",
    "Event",
    "EventKind",
    "Figure",
    "FloatState",
    "HeldPdu",
    "InState",
    "Kind",
    "Means",
    "Message",
    "NumberField",
    "NumberName",
    "OutState",
    "PartOf",
    "Reading",
    "Report",
    "ReportOutcome",
    "RuleRead",
    "Subject",
    "Text",
    "TimeDoubt",
    "Triple",
    "Undecodable",
    "input_key",
    "kinds_where",
    "numbers_in",
]
