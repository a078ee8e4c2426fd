"""The models → a JSON Schema of the file, so that editors complete and check the TOML."""

from typing import Any

from gateway.settings.explained import EXPLAINED
from gateway.settings.models import Settings

DURATION = {
    "type": "string",
    "pattern": r"^\s*(\d+(\.\d+)?\s*[smhdwSMHDW]\s*)+$",
    "examples": ["90s", "30m", "26h", "1d 2h"],
}
_OFF = {"enum": ["", "off"]}


def schema() -> dict[str, Any]:
    """JSON Schema 2020-12; durations are strings, a controller's number is one string or several, nothing is null."""
    found = Settings.model_json_schema(mode="validation")
    _mend(found)
    number = {"type": "string"}
    found["$defs"]["Controller"]["properties"]["number"] = {"anyOf": [number, {"type": "array", "items": number}]}
    found["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    found["title"] = "tank-gateway configuration"
    for model, table in (*found["$defs"].items(), ("Settings", found)):
        for key, value in table.get("properties", {}).items():
            said = EXPLAINED.get(f"{model}.{key}") or EXPLAINED.get(key)
            if said:
                value["description"] = said
    return found


def _mend(node: Any) -> None:
    """Durations become strings as people write them; what TOML has not (null, ISO durations) goes."""
    if isinstance(node, list):
        for value in node:
            _mend(value)
    if not isinstance(node, dict):
        return
    if "anyOf" in node:
        _without_null(node)
    if node.get("format") == "duration":
        kept = {key: node[key] for key in ("title", "description") if key in node}
        node.clear()
        node.update({**kept, **DURATION})
    default = node.get("default", "")
    if (
        default is None
        or isinstance(default, dict)
        or (isinstance(default, str) and default.startswith("P") and default[1:2] in "0123456789T")
    ):
        node.pop("default", None)
    for value in list(node.values()):
        _mend(value)


def _without_null(node: dict[str, Any]) -> None:
    """No value is null in TOML; a duration that may be none is written "" or "off"."""
    options = [one for one in node["anyOf"] if one.get("type") != "null"]
    if len(options) == len(node["anyOf"]):
        return
    if any(one.get("format") == "duration" for one in options):
        options.append(dict(_OFF))
    if len(options) == 1 and "$ref" not in options[0]:
        node.pop("anyOf")
        node.update({**options[0], **node})
    else:
        node["anyOf"] = options
