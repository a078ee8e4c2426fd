"""A file with mistakes → the same without them, so that what spans tables can be judged in the same go.

Nothing repaired here is ever used to run: it only lets `crosscheck` say the rest. What is wrong goes; what is needed gets
a stand-in that no other check can mistake for the person's own.
"""

import copy
from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import ValidationError

from gateway.settings.models import Settings

ROUNDS = 6
STAND_IN = "\u2047"
"""Marks a stand-in: findings about it are not told."""

NEEDED: Mapping[str, Any] = {
    "timezone": "UTC",
    "country": "AU",
    "device": "simulated",
    "means": "alive",
    "text": STAND_IN,
    "input": STAND_IN,
}


def repaired(data: Mapping[str, Any]) -> Settings | None:
    """Settings as near to the file as can be; None where too little is left."""
    draft = copy.deepcopy(dict(data))
    for _ in range(ROUNDS):
        try:
            return Settings.model_validate(draft)
        except ValidationError as wrong:
            for finding in reversed(wrong.errors(include_url=False)):
                _mend(draft, finding)
    return None


def _mend(draft: dict[str, Any], finding: Any) -> None:
    path, holder = _walk(draft, finding["loc"])
    if holder is None or not path:
        return
    key = path[-1]
    if finding["type"] == "missing" and isinstance(holder, dict):
        if isinstance(key, str) and key in ("site", "modem"):
            holder[key] = {}
        else:
            holder[key] = NEEDED.get(str(key), f"{STAND_IN}{id(holder)}")
    elif isinstance(holder, dict):
        holder.pop(key, None)
    elif isinstance(holder, list) and isinstance(key, int) and key < len(holder):
        holder.pop(key)


def _walk(draft: Any, loc: Sequence[Any]) -> tuple[list[Any], Any]:
    """The steps of `loc` that stand in the data (union tags do not), and what holds the last of them."""
    path: list[Any] = []
    holder: Any = None
    value: Any = draft
    last = len(loc) - 1
    for place, step in enumerate(loc):
        if isinstance(value, dict) and (step in value or place == last):
            holder, value = value, value.get(step)
        elif isinstance(value, list | tuple) and isinstance(step, int) and step < len(value):
            holder, value = value, value[step]
        else:
            continue
        path.append(step)
    return path, holder
