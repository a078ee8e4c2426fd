"""pydantic's and our own findings → `errors.Problem`s with lines, in plain words."""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, get_args, get_origin

from pydantic import BaseModel, ValidationError

from gateway.errors import Problem
from gateway.settings.models import Settings
from gateway.settings.positions import Positions

Path = tuple[str | int, ...]
TAGS = frozenset({"upright-cylinder", "lying-cylinder", "box", "tapered", "litres", "table", "ram", "steady"})
_QUOTED = re.compile(r"'([^']*)'")
_RIGHT = {
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
NEAR = 70
"""How alike (0..100) a near miss must be to be suggested."""


class Locate:
    """Makes problems at a path of the file."""

    def __init__(self, file: str, places: Positions) -> None:
        self.file = file
        self.places = places

    def problem(
        self,
        path: Path,
        *,
        found: object,
        wrong: str,
        right: str,
        suggestion: str | None = None,
        warning: bool = False,
    ) -> Problem:
        """One problem, at its line."""
        return Problem(
            file=self.file,
            line=self.places.line(path),
            key=dotted(path),
            found=str(found),
            wrong=wrong,
            right=right,
            suggestion=suggestion,
            warning=warning,
        )


def of_pydantic(error: ValidationError, locate: Locate, data: Mapping[str, Any]) -> list[Problem]:
    """Every finding of the models, at its line."""
    return [_one(finding, locate, data) for finding in error.errors(include_url=False)]


def problem_line(problem: Problem) -> str:
    """`gateway.toml:12: site.timezon: unknown key; did you mean "timezone"?`"""
    guess = f'; did you mean "{problem.suggestion}"?' if problem.suggestion else ""
    right = f"; {problem.right}" if problem.right and not guess else ""
    where = f"{problem.file}:{problem.line}: " if problem.line else f"{problem.file}: "
    key = f"{problem.key}: " if problem.key else ""
    kind = "note: " if problem.warning else ""
    return f"{where}{kind}{key}{problem.wrong}{guess}{right}"


def problem_json(problem: Problem) -> dict[str, Any]:
    """The same as JSON."""
    return {
        "file": problem.file,
        "line": problem.line,
        "key": problem.key,
        "found": problem.found,
        "wrong": problem.wrong,
        "right": problem.right,
        "suggestion": problem.suggestion,
        "warning": problem.warning,
    }


def dotted(path: Path) -> str:
    """`("tanks", 0, "id")` → `tanks[0].id`."""
    said = ""
    for step in path:
        said += f"[{step}]" if isinstance(step, int) else f".{step}" if said else step
    return said


def near(word: str, known: Iterable[str]) -> str | None:
    """The known word that was probably meant."""
    from rapidfuzz import process
    from rapidfuzz.fuzz import ratio

    found = process.extractOne(word, list(known), scorer=ratio, score_cutoff=NEAR)
    return None if found is None else str(found[0])


def _one(finding: Any, locate: Locate, data: Mapping[str, Any]) -> Problem:
    path = tuple(step for step in finding["loc"] if step not in TAGS or isinstance(step, int))
    kind = finding["type"]
    if kind == "extra_forbidden":
        key = str(path[-1])
        known = keys_at(path[:-1], data)
        guess = near(key, known)
        return locate.problem(
            path, found=key, wrong="unknown key", right=f"known here: {', '.join(known)}", suggestion=guess
        )
    if kind == "missing":
        return locate.problem(path, found="nothing", wrong="is needed and is missing", right=f"write {path[-1]} = …")
    found = finding.get("input")
    shown = repr(found) if not isinstance(found, dict | list) else "a table" if isinstance(found, dict) else "a list"
    if kind == "union_tag_invalid" and isinstance(found, dict):
        found, path = found.get("kind"), (*path, "kind")
        shown = repr(found)
    wrong, right, choices = _judged(finding)
    guess = near(str(found), choices) if choices else None
    return locate.problem(path, found=shown, wrong=f"{wrong} (found {shown})", right=right, suggestion=guess)


def _judged(finding: Any) -> tuple[str, str, list[str]]:
    """What is wrong, what would be right, and the words it could have been."""
    kind, context = finding["type"], finding.get("ctx", {})
    message = str(finding["msg"]).removeprefix("Value error, ")
    if kind in ("union_tag_invalid", "literal_error"):
        choices = _QUOTED.findall(str(context.get("expected_tags") or context.get("expected")))
        wrong = "unknown kind" if kind == "union_tag_invalid" else "is none of the words known here"
        return wrong, f"one of {', '.join(choices)}", choices
    if kind == "union_tag_not_found":
        return "needs a kind", 'kind = "…", see config/gateway.toml', []
    if message.startswith("expected "):
        return "cannot be read", message.removeprefix("expected "), []
    if kind in _RIGHT:
        return message[0].lower() + message[1:], _RIGHT[kind], []
    bounds = [f"{_BOUNDS[name]} {value:g}" for name, value in context.items() if name in _BOUNDS]
    return message[0].lower() + message[1:], " and ".join(bounds) or "see config/gateway.toml", []


def keys_at(path: Sequence[str | int], data: Mapping[str, Any]) -> tuple[str, ...]:
    """Which keys the models know at a path."""
    model: Any = Settings
    value: Any = data
    for step in path:
        value = value[step] if not isinstance(value, Mapping) or step in value else None
        if isinstance(step, int):
            continue
        field = model.model_fields.get(step) if model is not None else None
        model = None if field is None else _model(field.annotation, value)
        if model is None:
            return ()
    return tuple(model.model_fields)


def _model(annotation: Any, value: Any) -> Any:
    """The model behind an annotation; of a union the one whose kind the value has."""
    models = list(_models(annotation))
    if isinstance(value, Mapping) and "kind" in value:
        for one in models:
            kinds = get_args(one.model_fields["kind"].annotation) if "kind" in one.model_fields else ()
            if value["kind"] in kinds:
                return one
    return models[0] if models else None


def _models(annotation: Any) -> Iterable[Any]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    elif get_origin(annotation) is not None:
        for inner in get_args(annotation):
            yield from _models(inner)
