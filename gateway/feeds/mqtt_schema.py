"""The layout of our MQTT topics as a JSON Schema (2020-12): an object whose keys are topics and whose values are what is published there."""

from collections.abc import Mapping
from typing import Any, get_args

from gateway.facts import KINDS, NUMBER_FIELDS
from gateway.facts.alarms import AlarmState
from gateway.facts.event_kind import Priority
from gateway.feeds.mqtt_topics import GatewayState
from gateway.status.snapshot import ControllerState
from gateway.tanks.tank_state import TankState

Rule = dict[str, Any]
TIME: Rule = {"type": "string", "format": "date-time"}
TIME_OR_NONE: Rule = {"type": ["string", "null"], "format": "date-time"}
TEXT: Rule = {"type": "string"}
TEXT_OR_NONE: Rule = {"type": ["string", "null"]}
FIGURE_OR_NONE: Rule = {"type": ["number", "null"]}
TOPIC_PART = "[^/+#]+"


def mqtt_schema() -> Rule:
    """Topics begin with `mqtt.topic`; what is retained and what is not is said with each."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "tank-gateway by MQTT",
        "description": "Each key is a topic, each value what is published there as JSON, QoS 1. An empty payload, retained, takes a topic back.",
        "type": "object",
        "patternProperties": {
            "^.+/gateway$": _gateway(),
            f"^.+/tank/{TOPIC_PART}$": _tank(),
            f"^.+/controller/{TOPIC_PART}$": _controller(),
            "^.+/alarm/[0-9]+$": _alarm(),
            "^.+/event$": _event(),
        },
        "additionalProperties": False,
    }


def _object(description: str, properties: Mapping[str, Rule], *, optional: tuple[str, ...] = ()) -> Rule:
    return {
        "description": description,
        "type": "object",
        "properties": dict(properties),
        "required": [name for name in properties if name not in optional],
        "additionalProperties": False,
    }


def _enum(values: object) -> Rule:
    return {"enum": list(get_args(values))}


def _triple(of: Rule) -> Rule:
    return {"type": ["array", "null"], "items": of, "minItems": 3, "maxItems": 3}


def _gateway() -> Rule:
    return _object(
        "Retained. `lost` is the last will: the gateway is gone without a word.",
        {"state": _enum(GatewayState), "since": TIME_OR_NONE, "site": TEXT, "version": TEXT},
    )


def _tank() -> Rule:
    cause = _object("The likely cause.", {"is": TEXT, "because": TEXT})
    measured = _object("What a gauge read last.", {"level_m": {"type": "number"}, "litres": FIGURE_OR_NONE, "at": TIME})
    return _object(
        "Retained. A triple is an 80 % interval around its middle.",
        {
            "id": TEXT,
            "name": TEXT,
            "state": _enum(TankState),
            "since": TIME_OR_NONE,
            "litres": _triple({"type": "number"}),
            "dry_at": _triple(TIME),
            "full_at": _triple(TIME),
            "cause": {**cause, "type": ["object", "null"]},
            "paused_until": TIME_OR_NONE,
            "watched": {"type": "boolean"},
            "measured": {**measured, "type": ["object", "null"]},
            "site": TEXT,
        },
        optional=("measured",),
    )


def _controller() -> Rule:
    figures = {name: FIGURE_OR_NONE for name, field in NUMBER_FIELDS.items() if not field.of_gauge}
    return _object(
        "Retained.",
        {
            "id": TEXT,
            "name": TEXT,
            "state": _enum(ControllerState),
            "last_heard": TIME_OR_NONE,
            **figures,
            "silence_after": TEXT_OR_NONE,
            "site": TEXT,
        },
    )


def _alarm() -> Rule:
    following = _object("What comes next.", {"what": TEXT, "at": TIME})
    folded = _object(
        "An alarm that this one tells of too.",
        {"kind": TEXT, "tank": TEXT_OR_NONE, "controller": TEXT_OR_NONE, "since": TIME},
    )
    states = [state for state in get_args(AlarmState) if state not in ("folded", "over")]
    return _object(
        "Retained while it stands; the number is the alarm's id.",
        {
            "id": {"type": "integer"},
            "kind": TEXT,
            "tank": TEXT_OR_NONE,
            "controller": TEXT_OR_NONE,
            "priority": _enum(Priority),
            "state": {"enum": states},
            "since": TIME,
            "says": TEXT,
            "taken_by": TEXT_OR_NONE,
            "taken_at": TIME_OR_NONE,
            "next": {**following, "type": ["object", "null"]},
            "folded": {"type": "array", "items": folded},
            "steps": {"type": "array", "items": TEXT},
            "step": {"type": "integer"},
        },
        optional=("steps", "step"),
    )


def _event() -> Rule:
    return _object(
        "Not retained; in the order of storing. An id that came before is a repeat. `detail` holds figures alone.",
        {
            "id": {"type": "integer"},
            "at": TIME,
            "heard_at": TIME,
            "kind": {"type": "string", "examples": sorted(KINDS)},
            "tank": TEXT_OR_NONE,
            "controller": TEXT_OR_NONE,
            "input": TEXT_OR_NONE,
            "detail": {"type": "object", "additionalProperties": {"type": ["number", "boolean"]}},
            "site": TEXT,
            "says": TEXT,
        },
    )
