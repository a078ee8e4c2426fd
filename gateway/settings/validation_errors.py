"""What the models found wrong with the file → problems with lines, in plain words.

In: pydantic's ValidationError; each of its details has `loc` (keys, indexes, and the tag of a union), `type`, `msg`, `input`, `ctx`.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from gateway.errors import Problem
from gateway.settings.key_lines import KeyPath
from gateway.settings.models import Settings
from gateway.settings.problem_locator import ProblemLocator, dotted_key, nearest_word
from gateway.settings.settings_changes import MASK, SECRET_KEY

UNION_TAGS = frozenset({"upright-cylinder", "lying-cylinder", "box", "tapered", "litres", "table", "ram", "steady"})
"""Values of `kind`: they stand in a detail's `loc` as if they were keys, and in no file."""
_QUOTED = re.compile(r"'([^']*)'")
_RIGHT_BY_TYPE = {
    "string_type": 'text in quotes: "…"',
    "int_type": "a whole number without quotes",
    "int_parsing": "a whole number without quotes",
    "int_from_float": "a whole number",
    "float_type": "a number without quotes",
    "float_parsing": "a number without quotes",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "tuple_type": "a list: [ … ]",
    "list_type": "a list: [ … ]",
    "model_type": "a table: { key = … }",
    "model_attributes_type": "a table: { key = … }",
    "finite_number": "a number that is not nan or inf",
}
_BOUNDS = {"gt": "more than", "ge": "at least", "lt": "less than", "le": "at most"}


def problems_of_validation(error: ValidationError, locator: ProblemLocator, data: Mapping[str, Any]) -> list[Problem]:
    """Every finding of the models, at its line."""
    return [_problem_of_detail(detail, locator, data) for detail in error.errors(include_url=False)]


def _problem_of_detail(detail: ErrorDetails, locator: ProblemLocator, data: Mapping[str, Any]) -> Problem:
    path = tuple(step for step in detail["loc"] if isinstance(step, int) or step not in UNION_TAGS)
    if detail["type"] == "extra_forbidden":
        return _unknown_key(path, locator, data)
    if detail["type"] == "missing":
        right = f"write {path[-1]} = …"
        return locator.problem(path, found="nothing", wrong="is needed and is missing", right=right)
    value = detail.get("input")
    if detail["type"] == "union_tag_invalid" and isinstance(value, dict):
        value, path = value.get("kind"), (*path, "kind")
    shown = "a table" if isinstance(value, dict) else "a list" if isinstance(value, list) else repr(value)
    if SECRET_KEY.search(dotted_key(path)):
        shown = MASK
    wrong, right, choices = _explain_detail(detail)
    suggestion = nearest_word(str(value), choices) if choices else None
    return locator.problem(path, found=shown, wrong=f"{wrong} (found {shown})", right=right, suggestion=suggestion)


def _unknown_key(path: KeyPath, locator: ProblemLocator, data: Mapping[str, Any]) -> Problem:
    key, known = str(path[-1]), known_keys(path[:-1], data)
    elsewhere = _tables_that_know(key) if nearest_word(key, known) is None else ()
    right = f"it belongs in {' or '.join(elsewhere)}" if elsewhere else f"known here: {', '.join(known)}"
    return locator.problem(path, found=key, wrong="unknown key", right=right, suggestion=nearest_word(key, known))


def _tables_that_know(key: str) -> tuple[str, ...]:
    """`[site]`, `[[contacts]]`: the tables of the file's first level that have such a key."""
    found = []
    for table, field in Settings.model_fields.items():
        models = _models_within(field.annotation)
        if any(key in _keys_of(model) for model in models) and get_origin(field.annotation) is not dict:
            found.append(f"[[{table}]]" if get_origin(field.annotation) is tuple else f"[{table}]")
    return tuple(found)


def _explain_detail(detail: ErrorDetails) -> tuple[str, str, list[str]]:
    """What is wrong, what would be right, and the words it could have been."""
    kind, context = detail["type"], detail.get("ctx", {})
    message = detail["msg"].removeprefix("Value error, ")  # what pydantic puts before a validator's own words
    if kind in ("union_tag_invalid", "literal_error"):
        choices = _QUOTED.findall(str(context.get("expected_tags") or context.get("expected")))
        wrong = "unknown kind" if kind == "union_tag_invalid" else "is none of the words known here"
        return wrong, f"one of {', '.join(choices)}", choices
    if kind == "union_tag_not_found":
        return "needs a kind", 'kind = "…", see config/gateway.toml', []
    if message.startswith("expected "):
        return "cannot be read", message.removeprefix("expected "), []
    message = message[0].lower() + message[1:]
    if kind in _RIGHT_BY_TYPE:
        return message, _RIGHT_BY_TYPE[kind], []
    bounds = [f"{_BOUNDS[name]} {value:g}" for name, value in context.items() if name in _BOUNDS]
    return message, " and ".join(bounds) or "see config/gateway.toml", []


def known_keys(path: Sequence[str | int], data: Mapping[str, Any]) -> tuple[str, ...]:
    """Which keys the models know at a path of the file's data."""
    model: type[BaseModel] | None = Settings
    value: Any = data
    is_own_name = False  # the step below `alarms` is a kind's name, no key of a model
    for step in path:
        value = value[step] if not isinstance(value, Mapping) or step in value else None
        if isinstance(step, int) or is_own_name:
            is_own_name = False
            continue
        field = model.model_fields.get(step) if model is not None else None
        is_own_name = field is not None and get_origin(field.annotation) is dict
        model = None if field is None else _model_for(field.annotation, value)
        if model is None:
            return ()
    return () if model is None else _keys_of(model)


def _keys_of(model: type[BaseModel]) -> tuple[str, ...]:
    """As they stand in the file: `from` is no name that Python allows."""
    return tuple(field.alias or name for name, field in model.model_fields.items())


def _model_for(annotation: object, value: Any) -> type[BaseModel] | None:
    """The model behind an annotation; of a union the one whose kind the value has."""
    models = list(_models_within(annotation))
    if isinstance(value, Mapping) and "kind" in value:
        for model in models:
            kinds = get_args(model.model_fields["kind"].annotation) if "kind" in model.model_fields else ()
            if value["kind"] in kinds:
                return model
    return models[0] if models else None


def _models_within(annotation: object) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    elif get_origin(annotation) is not None:
        for inner in get_args(annotation):
            yield from _models_within(inner)
