"""A file with mistakes → the same without them, so that what spans tables can be judged in the same go.

Nothing made here is ever used to run: it only lets `check_settings` say the rest. What is wrong goes; what is needed gets a
stand-in that no other check can mistake for the person's own.
"""

import copy
from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from gateway.settings.models import Settings

MOST_ROUNDS = 6
"""What was taken out can leave something else in want, so the models are asked again, but not for ever."""
STAND_IN = "\u2047"
"""Marks a stand-in: problems that name it are not told."""
STAND_INS: Mapping[str, str] = {
    "timezone": "UTC",
    "country": "AU",
    "device": "simulated",
    "means": "alive",
    "text": STAND_IN,
    "input": STAND_IN,
}
"""For keys of which not any text will do."""


def settings_without_mistakes(data: Mapping[str, Any]) -> Settings | None:
    """Settings as near to the file's data as can be; None where too little is left."""
    draft = copy.deepcopy(dict(data))
    for _ in range(MOST_ROUNDS):
        try:
            return Settings.model_validate(draft)
        except ValidationError as error:
            # from the end, so that taking an item out of a list moves none that is still to be taken out
            for detail in reversed(error.errors(include_url=False)):
                _take_out(draft, detail)
    return None


def _take_out(draft: dict[str, Any], detail: ErrorDetails) -> None:
    key, holder = _find_holder(draft, detail["loc"])
    if detail["type"] == "missing" and isinstance(holder, dict) and isinstance(key, str):
        table = key in ("site", "modem")
        holder[key] = {} if table else STAND_INS.get(key, f"{STAND_IN}{id(holder)}")  # an id must differ from others
    elif isinstance(holder, dict):
        holder.pop(key, None)
    elif isinstance(holder, list) and isinstance(key, int) and key < len(holder):
        holder.pop(key)


def _find_holder(draft: dict[str, Any], loc: Sequence[str | int]) -> tuple[str | int | None, Any]:
    """The last step of `loc` that stands in the data, and the table or list that holds it; steps that are union tags stand in none."""
    key: str | int | None = None
    holder: Any = None
    value: Any = draft
    for place, step in enumerate(loc):
        if isinstance(value, dict) and (step in value or place == len(loc) - 1):
            key, holder, value = step, value, value.get(step)
        elif isinstance(value, list | tuple) and isinstance(step, int) and step < len(value):
            key, holder, value = step, value, value[step]
    return key, holder
