"""The JSON Schema of the configuration: the samples hold against it, mistakes do not, and every key is explained.

The validator below knows just the words of JSON Schema (2020-12) that the schema uses and refuses any other; the schema was
also checked once with the jsonschema library, by hand.
"""

import copy
import json
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from gateway.__main__ import main
from gateway.settings.json_schema import settings_schema

ROOT = Path(__file__).parents[2]
SAMPLES = [*sorted((ROOT / "config").glob("*.toml")), ROOT / "gateway/simulator/quandong.toml"]
SAYS_NOTHING = {"title", "description", "default", "examples", "discriminator", "$schema", "$defs", "format"}
TYPES: dict[str, Any] = {
    "string": str,
    "boolean": bool,
    "array": list,
    "object": dict,
    "integer": int,
    "number": (int, float),
}
BOUNDS = {
    "minimum": lambda value, bound: value >= bound,
    "maximum": lambda value, bound: value <= bound,
    "exclusiveMinimum": lambda value, bound: value > bound,
    "exclusiveMaximum": lambda value, bound: value < bound,
    "minItems": lambda value, bound: len(value) >= bound,
    "maxItems": lambda value, bound: len(value) <= bound,
}


def mistakes(rule: dict[str, Any], value: Any, root: dict[str, Any], at: str = "$") -> Iterator[str]:
    """Where the value does not hold."""
    for word, said in rule.items():
        if word == "$ref":
            yield from mistakes(root["$defs"][said.rsplit("/", 1)[-1]], value, root, at)
        elif word in ("anyOf", "oneOf"):
            fitting = [option for option in said if not list(mistakes(option, value, root, at))]
            if not fitting or (word == "oneOf" and len(fitting) > 1):
                yield at
        elif word not in SAYS_NOTHING:
            yield from _said(word, said, rule, value, root, at)


def _said(word: str, said: Any, rule: dict[str, Any], value: Any, root: dict[str, Any], at: str) -> Iterator[str]:
    if word == "type":
        wrong = not isinstance(value, TYPES[said]) or (isinstance(value, bool) and said != "boolean")
        yield from [at] if wrong else []
    elif word in ("const", "enum"):
        yield from [at] if value not in (said if word == "enum" else [said]) else []
    elif word == "pattern":
        yield from [at] if isinstance(value, str) and not re.search(said, value) else []
    elif word in BOUNDS:
        measured = isinstance(value, list if "Items" in word else (int, float))
        yield from [at] if measured and not BOUNDS[word](value, said) else []
    elif word == "required":
        yield from (f"{at}.{key}" for key in said if isinstance(value, dict) and key not in value)
    elif word == "properties":
        for key, inner in said.items():
            if isinstance(value, dict) and key in value:
                yield from mistakes(inner, value[key], root, f"{at}.{key}")
    elif word == "additionalProperties":
        assert said is False
        yield from (
            f"{at}.{key}" for key in (value if isinstance(value, dict) else ()) if key not in rule["properties"]
        )
    elif word in ("items", "prefixItems"):
        items = value if isinstance(value, list) else []
        rules = said if word == "prefixItems" else [said] * len(items)
        for place, (inner, item) in enumerate(zip(rules, items, strict=False)):
            yield from mistakes(inner, item, root, f"{at}[{place}]")
    else:
        raise AssertionError(f"the validator does not know {word!r}")


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: sample.name)
def test_the_samples_hold_against_it(sample):
    """None of them has a mistake."""
    made = settings_schema()
    assert list(mistakes(made, tomllib.loads(sample.read_text()), made)) == []


@pytest.mark.parametrize(
    ("path", "value", "at"),
    [
        (("site", "timezon"), "UTC", "$.site.timezon"),
        (("site", "country"), None, "$.site.country"),
        (("contacts", 0, "line"), "moble", "$.contacts[0].line"),
        (("contacts", 0, "turn"), 0, "$.contacts[0].turn"),
        (("controllers", 0, "silence_after"), "26 hours", "$.controllers[0].silence_after"),
        (("controllers", 0, "number"), 5, "$.controllers[0].number"),
        (("tanks", 0, "shape", "kind"), "bix", "$.tanks[0].shape"),
        (("tanks", 0, "floats", 0, "settle"), "5 minuts", "$.tanks[0].floats[0].settle"),
        (("demand", "people"), "many", "$.demand.people"),
    ],
)
def test_mistakes_do_not_hold(path, value, at):
    """An unknown key, a missing one, a wrong word, type, bound or duration."""
    made = settings_schema()
    data = copy.deepcopy(tomllib.loads((ROOT / "config/one-tank.toml").read_text()))
    holder: Any = data
    for step in path[:-1]:
        holder = holder[step]
    if value is None:
        del holder[path[-1]]
    else:
        holder[path[-1]] = value
    assert at in list(mistakes(made, data, made))


@pytest.mark.parametrize("said", ["off", "", "auto", "26h", "1d 2h"])
def test_what_may_be_off_may_be_written_so(said):
    """As `check` accepts it."""
    made = settings_schema()
    rule = made["$defs"]["Controller"]["properties"]["silence_after"]
    assert list(mistakes(rule, said, made)) == []


def test_every_key_is_explained_and_nothing_is_null(capsys):
    """Editors show a line for each key; TOML has no null."""
    assert main(["schema"]) == 0
    printed = capsys.readouterr().out
    made = json.loads(printed)
    bare = [
        f"{name}.{key}"
        for name, table in made["$defs"].items()
        for key, value in table["properties"].items()
        if "description" not in value and "$ref" not in json.dumps(value)
    ]
    assert bare == [] and "null" not in printed


def test_a_duration_is_as_people_write_it() -> None:
    """An editor that knows ISO 8601 would else underline every "10m"."""
    made = json.dumps(settings_schema())
    assert '"duration"' not in made and '"default": "P' not in made
