"""The table of number fields is whole, and whatever it holds can be read, explained, stored and guessed."""

import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import get_args

import pytest

from gateway.facts.number_fields import NUMBER_FIELDS, NumberField, NumberName, numbers_in
from gateway.rules.rulebook import compile_rulebook
from gateway.settings.controller_tables import RuleTable
from gateway.suggest.suggest_rules import suggest_rules

EXAMPLE = Path(__file__).parents[2] / "config/gateway.toml"


def lacks(entry: NumberField) -> Iterator[str]:
    """What a field still lacks, each place by name."""
    if f"{{{entry.name}}}" not in EXAMPLE.read_text("utf-8"):
        yield f"{entry.name}: config/gateway.toml does not name {{{entry.name}}}"
    for word in ("label", "expected"):
        if not getattr(entry, word):
            yield f"{entry.name}: `{word}` is empty"
    if not (entry.units or entry.names):
        yield f"{entry.name}: `suggest` has neither `units` nor `names` to know it by"
    others = [other for other in NUMBER_FIELDS.values() if other.name != entry.name]
    for word in (*entry.units, *entry.names, *entry.letters):
        if any(word in (*other.units, *other.names, *other.letters) for other in others):
            yield f"{entry.name}: {word!r} is another field's too"
    if not entry.limits[0] < entry.limits[1]:
        yield f"{entry.name}: nothing is within its `limits`"


def test_the_type_and_the_table_name_the_same_fields() -> None:
    """mypy knows the fields from the one, the program from the other."""
    assert get_args(NumberName) == tuple(NUMBER_FIELDS)


@pytest.mark.parametrize("entry", NUMBER_FIELDS.values(), ids=list(NUMBER_FIELDS))
def test_a_field_is_whole(entry: NumberField) -> None:
    """A household finds it in the example; a person is told what it is; `suggest` knows it when it sees it."""
    assert list(lacks(entry)) == []


def test_what_a_new_field_lacks_is_named_with_its_place() -> None:
    """A name alone."""
    bare = replace(NUMBER_FIELDS["percent"], name="pressure", label="", expected="", units=(), limits=(1.0, 1.0))
    assert list(lacks(bare)) == [
        "pressure: config/gateway.toml does not name {pressure}",
        "pressure: `label` is empty",
        "pressure: `expected` is empty",
        "pressure: `suggest` has neither `units` nor `names` to know it by",
        "pressure: nothing is within its `limits`",
    ]
    assert list(lacks(replace(NUMBER_FIELDS["signal"], units=("v",)))) == ["signal: 'v' is another field's too"]


@pytest.mark.parametrize("entry", NUMBER_FIELDS.values(), ids=list(NUMBER_FIELDS))
def test_every_field_is_read_and_missed_in_words(entry: NumberField) -> None:
    """By a template and by a regex; where no number stands, `explain` says what was expected."""
    for rule in (
        RuleTable(text=f"TELLS {{{entry.name}}} *", means="reading"),
        RuleTable(regex=rf"TELLS (?P<{entry.name}>\S+) .*", means="reading"),
    ):
        (reading,) = compile_rulebook([rule]).read("TELLS -7,5 now").readings
        assert reading.numbers == {entry.name: -7.5}
    (trial,) = compile_rulebook([RuleTable(text=f"TELLS {{{entry.name}}}", means="reading")]).trace("TELLS nothing")
    assert trial.why.endswith(f"expected {entry.expected}")


def guessed_rules(entry: NumberField, number: str) -> str:
    """What `suggest` makes of a box that tells this number by the field's first unit and, if it has one, its name."""
    before, behind = f"{entry.names[-1]}: " if entry.names else "", f" {entry.units[0]}"
    return suggest_rules([f"alive\tALL WELL {box} {before}{number}{behind}" for box in ("A", "B")]).toml


@pytest.mark.parametrize("entry", NUMBER_FIELDS.values(), ids=list(NUMBER_FIELDS))
def test_every_field_is_guessed_from_samples(entry: NumberField) -> None:
    """By a name before it and the unit behind it; a number beyond its limits is something else."""
    assert f"{{{entry.name}}}" in guessed_rules(entry, "7.5")
    if math.isfinite(entry.limits[1]):
        assert f"{{{entry.name}}}" not in guessed_rules(entry, f"{entry.limits[1] + 0.5}")


@pytest.mark.parametrize(
    ("name", "value", "shown", "told"),
    [
        ("volts", 12.6, "12.6 V", "12.6 V"),
        ("percent", 80.0, "80 %", "80 %"),
        ("celsius", -4.5, "-4.5 °C", "-4.5 °C"),
        ("signal", 17.0, "17", "17 (signal)"),
    ],
)
def test_numbers_are_shown_with_their_unit(name: str, value: float, shown: str, told: str) -> None:
    """And where none tells what it is, with the label."""
    assert (NUMBER_FIELDS[name].shown(value), NUMBER_FIELDS[name].told(value)) == (shown, told)


def test_numbers_are_found_among_what_an_event_carries() -> None:
    """In the table's order; what is no number, or no field, is none."""
    detail = {"rule": 2, "signal": 17, "volts": 12.6, "percent": None, "celsius": "warm"}
    assert list(numbers_in(detail).items()) == [("volts", 12.6), ("signal", 17.0)]
