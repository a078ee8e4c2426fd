"""The models → a JSON Schema of the file, so that editors complete and check the TOML."""

from typing import Any

from gateway.settings.models import Settings

DURATION = {
    "type": "string",
    "pattern": r"^\s*(\d+(\.\d+)?\s*[smhdwSMHDW]\s*)+$",
    "examples": ["90s", "30m", "26h", "1d 2h"],
}


def schema() -> dict[str, Any]:
    """The schema; durations are strings, a controller's number is one string or several."""
    found = Settings.model_json_schema(mode="validation")
    _mend(found)
    number = {"type": "string"}
    found["$defs"]["Controller"]["properties"]["number"] = {"anyOf": [number, {"type": "array", "items": number}]}
    found["title"] = "tank-gateway configuration"
    return found


def _mend(node: Any) -> None:
    """Every duration becomes a string as people write it; defaults of durations go (they are ISO there)."""
    if isinstance(node, dict):
        if node.get("format") == "duration":
            kept = {key: node[key] for key in ("title", "description") if key in node}
            node.clear()
            node.update({**kept, **DURATION})
        for value in list(node.values()):
            _mend(value)
        if isinstance(node.get("default"), str) and node["default"].startswith("P") and "pattern" in str(node):
            node.pop("default")
    elif isinstance(node, list):
        for value in node:
            _mend(value)
