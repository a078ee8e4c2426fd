"""The models → a JSON Schema of the file, so that editors complete and check the TOML, with a plain line for each key."""

from collections.abc import Mapping
from typing import Any

from gateway.facts import KINDS
from gateway.settings.models import Settings

_DURATION = {
    "type": "string",
    "pattern": r"^\s*(\d+(\.\d+)?\s*[smhdwSMHDW]\s*)+$",
    "examples": ["90s", "30m", "26h", "1d 2h"],
}
_OFF = {"enum": ["", "off"]}


def settings_schema() -> dict[str, Any]:
    """JSON Schema 2020-12; durations are strings, a controller's number is one string or several, nothing is null."""
    schema = Settings.model_json_schema(mode="validation")
    _as_in_toml(schema)
    number = {"type": "string"}
    schema["$defs"]["Controller"]["properties"]["number"] = {"anyOf": [number, {"type": "array", "items": number}]}
    alarms = schema["properties"]["alarms"]
    alarms.update(properties={kind: alarms["additionalProperties"] for kind in KINDS}, additionalProperties=False)
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    schema["title"] = "tank-gateway configuration"
    for model, table in (*schema["$defs"].items(), ("Settings", schema)):
        for key, rule in table.get("properties", {}).items():
            description = KEY_DESCRIPTIONS.get(f"{model}.{key}") or KEY_DESCRIPTIONS.get(key)
            if description:
                rule["description"] = description
    return schema


def _as_in_toml(node: Any) -> None:
    """Durations become strings as people write them; what TOML has not (null, ISO durations) goes. In place, all the way down."""
    if isinstance(node, list):
        for value in node:
            _as_in_toml(value)
    if not isinstance(node, dict):
        return
    if "anyOf" in node:
        _drop_null(node)
    if node.get("format") == "duration":
        kept = {key: node[key] for key in ("title", "description") if key in node}
        node.clear()
        node.update({**kept, **_DURATION})
    if "default" in node and not _stands_in_toml(node["default"]):
        del node["default"]
    for value in list(node.values()):
        _as_in_toml(value)


def _stands_in_toml(default: Any) -> bool:
    """Not null, not a whole table, and no duration as pydantic writes it (ISO 8601: "P1D", "PT60S")."""
    iso_duration = isinstance(default, str) and default.startswith("P") and default[1:2] in "0123456789T"
    return default is not None and not isinstance(default, dict) and not iso_duration


def _drop_null(node: dict[str, Any]) -> None:
    """No value is null in TOML; a duration that may be none is written "" or "off"."""
    options = [option for option in node["anyOf"] if option.get("type") != "null"]
    if len(options) == len(node["anyOf"]):
        return
    if any(option.get("format") == "duration" for option in options):
        options.append(dict(_OFF))
    if len(options) == 1 and "$ref" not in options[0]:
        node.pop("anyOf")
        node.update({**options[0], **node})
    else:
        node["anyOf"] = options


KEY_DESCRIPTIONS: Mapping[str, str] = {
    "Site.name": "what the household calls the place",
    "timezone": "IANA time zone, such as Australia/Sydney; people read local times",
    "country": "two letters (ISO 3166); says how to read phone numbers",
    "latitude": "degrees, south negative; only for the battery and sun outlook",
    "language": "which phrase file messages come from",
    "phrases": "a file of your own with the phrases that you say otherwise",
    "device": 'the modem\'s serial port, or "simulated"',
    "baud": "speed of the serial port",
    "pin_file": "a file that holds the SIM's PIN and nothing else; never the PIN itself",
    "delivery_reports": "ask the network whether messages arrived",
    "sweep_every": "how often the modem is read even if it announced nothing",
    "ModemTable.number": "the gateway's own number, for {gateway} in an errand's text",
    "url": "where everything is kept",
    "backup_folder": "a folder, best on another medium, for a backup a day",
    "id": "a short word of your own, unique",
    "Controller.name": "what messages call the box",
    "Controller.number": "the box's own number, or a list of them",
    "silence_after": 'told when nothing was heard for so long; "off"; "auto": from its own rhythm',
    "ask": "a text that makes the box answer, and when it is sent",
    "Ask.text": "the text that makes the box answer",
    "text_file": "a file that holds that text, where it contains a password",
    "every": 'asked so often; "": never',
    "before_silence": "asked so long before the silence would be told",
    "rules": "how the box's texts are read; the first that fits the whole text wins",
    "RuleTable.text": "literal words, {fields}, * for anything",
    "regex": "a regular expression with groups named as the fields",
    "RuleTable.means": "input, level, alive, power-lost, power-back, reading or ignore",
    "active": "words that say the contact is active",
    "idle": "words that say the contact is at rest",
    "scope": "whole: the whole text; anywhere: wherever it stands in a text",
    "enough": "false, with scope anywhere: a text in which nothing else is read is passed on all the same",
    "RuleTable.input": "fixes the input where the text does not say it",
    "RuleTable.state": "fixes the state where the text does not say it",
    "errands": "texts that are sent to the box on somebody's order, each with the answer that it should give",
    "Errand.text": "what is sent; {time} and {gateway} (our own number) are filled in",
    "answer": 'a pattern as in rules, for the answer that it should give; "": none is expected',
    "within": "the answer is waited for so long",
    "tries": "sent so often at most, while no answer comes",
    "risk": "looks, sets or switches: the last two are confirmed by a code before they leave",
    "may": "ids of the contacts who may order it by text; none: only the command line",
    "longest": "of one that switches: stop_text leaves after so long",
    "stop_text": "what ends it",
    "of": "whose number a reading is: battery (percent and volts, if nothing else is said), box, air or water",
    "RuleTable.name": "what messages call a reading that has limits of its own",
    "RuleTable.low": "told when the reading is below it",
    "RuleTable.high": "told when the reading is above it",
    "power": "the battery and panel of the box",
    "capacity_ah": "capacity of the battery in ampere hours",
    "volts": "nominal voltage of the battery",
    "chemistry": "lead-acid, agm, gel or lifepo4",
    "low_volts": "told when the voltage falls below this; without it by the chemistry",
    "watts": "rated power of the panel",
    "tilt_deg": "0 lies flat, 90 stands upright",
    "facing_deg": "compass direction the panel looks to; 0: towards the equator",
    "horizon_deg": "hills or trees up to this height take the sun",
    "standby_ma": "what the box draws at rest",
    "text_ma": "what it draws while sending",
    "texts_per_day": "so many texts a day",
    "monthly_kwh_m2_day": "twelve figures on a level surface, January first; without them estimated",
    "monthly_celsius": "twelve mean temperatures, January first",
    "Tank.name": "what messages call the tank",
    "shape": "form and size, for litres and time left",
    "fed_by": "ids of the tanks upstream; none: fed by the source",
    "pipes": "what a pipe between two tanks, or from the source, can pass",
    "Pipe.from": "the id of the tank it comes from, or source",
    "Pipe.to": "the id of the tank it goes to",
    "inner_mm": "its inner diameter",
    "Pipe.length_m": "its length",
    "Pipe.fall_m": "how far it falls from end to end",
    "floats": "its float switches",
    "controller": "id of the box the float is wired to",
    "Float.input": "number or name, as the rule reads it",
    "Float.means": "what an active input says: low or high",
    "gauges": "what reads its level, instead of floats or beside them",
    "Gauge.controller": "id of the box the gauge is wired to",
    "Gauge.input": "number or name, as the level rule reads it",
    "reads": "what the number is: percent of the height, m, cm, mA (4 to 20) or litres",
    "Gauge.points": "pairs of reading and water height in m, where it is not plain",
    "low_m": "below this water height the tank is low; 0: never",
    "high_m": "above this water height it is high; 0: never",
    "band_m": "it must come back by so much before that is over",
    "inputs": "contacts that are no tank's: a lid, a door, a pump that stops",
    "Input.controller": "id of the box it is wired to",
    "Input.input": "number or name, as the rule reads it",
    "Input.name": "what messages call it",
    "active_says": "what a message says of it when it is active, behind its name",
    "idle_says": "what a message says when that is over",
    "advice": "what to do, said with it",
    "Input.priority": "urgent: calls people out; soon: told once; record: kept and not told",
    "level_m": "water height above the outlet at which the float switches",
    "settle": "the state must hold this long before it counts",
    "over": 'how its alarm ends: heard, reckoned (by refill time) or said; "": heard where a rule can say it, else reckoned',
    "Float.priority": 'urgent, soon or record; "": by its kind and the forecast',
    "drive_flow_l_min": "water that drives the ram",
    "fall_m": "from the drive tank down to the ram",
    "lift_m": "from the ram up to where the water enters the tank",
    "efficiency": "share of the drive water's work that lifts, 0 to 1",
    "flow_l_min": "what the spring or pump delivers",
    "people": "who drink, wash and cook from it",
    "litres_per_person_day": "what one of them uses a day",
    "animals": "who drink from it",
    "head": "how many of them",
    "litres_per_head_day": "what one drinks a day; without it by the published figure",
    "other_litres_day": "garden, dairy and so on",
    "warm_celsius": "for kinds whose published figure depends on warmth",
    "Contact.name": "what messages call this person",
    "Contact.number": "their number, as you dial it at home or with +",
    "line": "mobile, or landline: spoken, so no reply is asked for",
    "about": "what this person hears of",
    "turn": "1 is told first; equal turns are told together",
    "quiet": '"22:00-06:30": what is not urgent waits until it ends',
    "may_ask": "may text questions and orders to the gateway",
    "take_within": 'nobody took it within this time: the next turn; "0s": everyone at once',
    "remind_every": 'while it lasts and nobody took it, each reminder after twice the wait; "0s": never',
    "taken_for": "a taken alarm that is not over comes back after so long, or at the second call if that is sooner",
    "warn_before_dry": 'the second call: so long before the early edge of the forecast; "0s": none',
    "urgent_within": "a low tank upstream is urgent if the house may run dry within this",
    "again_after": "an active text of a float after so long is a new alarm",
    "delivered_within": "a message not delivered by then counts as not told",
    "urgent": "kinds that are urgent whatever the table of kinds says (older files)",
    "alarms": "by kind of event: its priority, if not the one that `alarms --why` tells",
    "AlarmKind.priority": 'urgent, soon or record; "": as `alarms --why` tells',
    "bleed": "how air is let out after the taps ran dry",
    "taps": "the house's own taps, lowest first",
    "Limits.texts_per_day": "beyond it only urgent messages leave",
    "segments": "how many segments a message may take; left out: 1, and 2 for a language with letters of its own",
    "a_day_each": "messages to one phone a day; beyond it only a new urgent alarm leaves",
    "burst": "messages to one contact in ten minutes; the rest is joined",
    "chatter": "a float that switches to and fro becomes one message",
    "price_per_segment": "what a segment costs, for the cost figures",
    "currency": "of that price",
    "unknown_senders": 'keep, or forward: also told to the "gateway" contacts',
    "day": 'weekday of the weekly "all is well", or off',
    "time": "time of day it is sent",
    "Digest.contacts": "ids of who gets it",
    "ussd": 'the code one dials to hear what is left on the SIM; "": never asked',
    "Balance.pattern": "a regular expression that finds the amount in the answer",
    "Balance.every": "asked so often",
    "watch": "who is called first, week by week; the others are told by day only, unless nobody answers",
    "Watch.contact": "id of the contact who has it: a mobile that may ask",
    "days": "on which days; none: on all",
    "Watch.from": "local time at which it begins",
    "Watch.until": "local time at which it ends; one that is not later than `from` is the next day's",
    "Drill.every": 'the chain to the people is tested so often; "": only on demand',
    "Site.notes": "where the valves are, and what else somebody who takes over must know; printed in the house book",
    "Sim.name": "what the card is called in messages",
    "Sim.expires": 'the last day on which it is good, such as "2027-06-30"; told 30, 7 and 1 days before',
    "Sim.use_every": "it must send something at least so often, or it is cut off",
    "Balance.low": "told when less than this is left",
    "folder": 'where `serve` keeps a fresh page; "": nowhere',
    "file": 'where `serve` keeps figures for a monitoring program (OpenMetrics text); "": nowhere',
    "Mqtt.url": 'the MQTT broker, mqtts://host (TLS) or mqtt://host; "": none',
    "user": "who we are there",
    "password_file": "a file that holds the password and nothing else; never the password itself",
    "ca_file": "the certificate that signed the broker's, where no public authority did",
    "topic": "what the topics of this gateway begin with",
    "kind": "which kind it is",
    "diameter_m": "inner diameter",
    "height_m": "inner height up to the overflow",
    "length_m": "inner length",
    "width_m": "inner width",
    "bottom_diameter_m": "inner diameter at the bottom",
    "top_diameter_m": "inner diameter at the top",
    "litres": "what it holds when full",
    "points": "pairs of water height in m and litres, both rising",
}
"""A key that means different things in different tables stands with its model's name in front."""
