"""Slips that people make in the file: each is told once, at its line, with what would be right; and nothing passes that would be met later."""

import json
from datetime import timedelta

import pytest

from gateway.__main__ import main
from gateway.errors import ConfigurationWrong
from gateway.settings.load import load, load_text
from gateway.settings.problem_locator import problem_line
from tests.household import write_config


def wrong_with(tmp_path, old, new):
    """What is said of the household's file after one replacement, and at which line that is."""
    text = write_config(tmp_path).read_text()
    assert old in text
    line = text[: text.index(old)].count("\n") + 1
    with pytest.raises(ConfigurationWrong) as refused:
        load_text(text.replace(old, new, 1), "g")
    return refused.value.problems, refused.value.warnings, line


@pytest.mark.parametrize(
    ("old", "new", "right"),
    [
        ('name = "Ridge box"', "name = “Ridge box”", "straight quotes"),
        ("level_m = 0.45", "level_m = 0,45", "a decimal point: 0.45"),
        ("latitude = -35.2", "latitude = -35,2", "a decimal point: -35.2"),
        ("latitude = -35.2", "latitude = −35.2", "an ordinary minus"),
        ("level_m = 0.45", "level_m = 0.45 m", "the number alone: 0.45"),
        ("level_m = 0.45", "level_m = 0.45m", "the number alone: 0.45"),
        ('number = "0491 570 006"', "number = 0491 570 006", 'in quotes: "0491 570 006"'),
        ('number = "0491 570 006"', "number = +61491570006x", "this is no TOML"),
        ("people = 4", "people =\u00a04", "ordinary spaces"),
        ("people = 4", "\u200bpeople = 4", "ordinary spaces"),
        ("people = 4", f"people = {'9' * 5000}", "digits"),
        ('device = "simulated"', 'device = "simulated"\nsweep_every = 60s', 'in quotes: "60s"'),
        ('device = "simulated"', 'device = "simulated"\ndelivery_reports = Yes', "; true"),
        ('device = "simulated"', 'device = "simulated"\ndelivery_reports = False', "; false"),
    ],
)
def test_what_was_meant(tmp_path, old, new, right):
    """The slip's form says it better than the parser does."""
    problems, warnings, line = wrong_with(tmp_path, old, new)
    (said,) = map(problem_line, problems)
    assert [problem.key for problem in warnings if problem.key.endswith("level_m")] == []
    assert right in said and problems[0].line in (line, line + 1)


@pytest.mark.parametrize(
    ("old", "new", "key", "word"),
    [
        ("level_m = 0.45", "level_m = nan", "tanks[1].floats[0].level_m", "nan or inf"),
        ("diameter_m = 2.0", "diameter_m = inf", "tanks[1].shape.diameter_m", "nan or inf"),
        ("diameter_m = 2.0", "diameter_m = 1e300", "tanks[1].shape.diameter_m", "at most"),
        ("people = 4", "people = 99999999999", "demand.people", "at most"),
        ('name = "House tank"', 'name = ""', "tanks[1].name", "is empty"),
        ('name = "Ridge box"', 'name = "   "', "controllers[0].name", "is empty"),
        ('name = "Quandong Ridge"', 'name = ""', "site.name", "is empty"),
        ('name = "House tank"', 'name = "House\\ntank"', "tanks[1].name", "one line"),
        ('name = "House tank"', 'name = "House\\u001b[31mtank"', "tanks[1].name", "one line"),
        ('device = "simulated"', 'device = "simulated"\nsweep_every = "0s"', "modem.sweep_every", "a second at least"),
        ('device = "simulated"', 'device = "simulated"\nbaud = 0', "modem.baud", "more than 0"),
        ('name = "Ridge box"', 'name = "Ridge box"\nask = { text = "?", every = "0s" }', "controllers[0].ask.every", "without end"),
    ],
)  # fmt: skip
def test_what_would_be_met_later_is_refused(tmp_path, old, new, key, word):
    """A figure without end ended `page`, and made no JSON; a message without a name says nothing; no rest wears a board out."""
    problems, _, _ = wrong_with(tmp_path, old, new)
    (said,) = [problem_line(problem) for problem in problems if problem.key == key]
    assert word in said and "\x1b" not in said


@pytest.mark.parametrize(
    "url", ["sqlite://", "sqlite:///", "sqlite:///:memory:", "sqlite://tmp/gateway.db", "sqlite:///?x=1"]
)
def test_a_store_needs_a_file(tmp_path, url):
    """In memory each command would see a store of its own, and a start anew an empty problem."""
    file = write_config(tmp_path, url=url)
    with pytest.raises(ConfigurationWrong) as refused:
        load(str(file))
    (problem,) = refused.value.problems
    assert problem.key == "store.url" and "sqlite:////" in problem.right


def test_a_name_twice_is_a_note(tmp_path):
    """It works, but no message says which tank."""
    text = write_config(tmp_path).read_text().replace('name = "House tank"', 'name = "spring tank "')
    (note,) = [problem for problem in load_text(text, "g").warnings if problem.key == "tanks[1].name"]
    assert "'spring' has this name too" in note.wrong


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("a = [1\nb = 2\nc = x\n", [2]),
        ("\n".join(f"key{number} = x" for number in range(12)), list(range(1, 10))),
    ],
)
def test_no_more_is_judged_than_can_be(text, told):
    """Behind a list that is not closed nothing is; and after nine slips it is enough."""
    with pytest.raises(ConfigurationWrong) as refused:
        load_text(text, "g")
    assert [problem.line for problem in refused.value.problems] == told


@pytest.mark.parametrize("country", ["au", "Australia"])
def test_a_wrong_country_is_one_mistake(tmp_path, country):
    """What cannot be read without it is not told as well."""
    problems, warnings, _ = wrong_with(tmp_path, 'country = "AU"', f'country = "{country}"')
    assert [problem.key for problem in problems] == ["site.country"]
    assert not [problem for problem in warnings if problem.key.endswith(".number")]


@pytest.mark.parametrize("number", ["0491 5", "(02) 55", "+61 4", "RIDGE 0491570"])
def test_a_controllers_number_that_was_cut_short_is_no_name(tmp_path, number):
    """A controller may text under a name, but what is made of digits, or has many, was meant as a number."""
    problems, _, line = wrong_with(tmp_path, 'number = "0491 570 006"', f'number = "{number}"')
    assert [(problem.key, problem.line) for problem in problems] == [("controllers[0].number", line)]


def test_a_controller_may_text_under_a_name(tmp_path):
    """With a note; a digit in it makes it no number."""
    text = write_config(tmp_path).read_text().replace('"0491 570 006"', '"RIDGE 2"')
    loaded = load_text(text, "g")
    assert loaded.settings.controllers[0].number == ("RIDGE 2",)
    assert [note.key for note in loaded.warnings if "short code or a name" in note.wrong] == ["controllers[0].number"]


@pytest.mark.parametrize("number", ["0491 570", "000"])
def test_a_mistake_has_no_note_beside_it(tmp_path, number):
    """A number that is refused was said to be right if texts come from it."""
    problems, warnings, _ = wrong_with(tmp_path, 'number = "0491 570 156"', f'number = "{number}"')
    assert [problem.key for problem in problems] == ["contacts[0].number"]
    assert not [problem for problem in warnings if problem.key == "contacts[0].number"]


def test_no_other_continent_is_suggested(tmp_path):
    """AEST is ten hours east of Greenwich, EST five west."""
    problems, _, _ = wrong_with(tmp_path, '"Australia/Sydney"', '"AEST"')
    assert problems[0].key == "site.timezone" and problems[0].suggestion is None


def test_a_file_of_another_encoding_is_refused_with_its_line(tmp_path, capsys):
    """As an older editor saves it."""
    file = write_config(tmp_path)
    text = file.read_text().replace("House tank", "Häuschen")
    file.write_bytes(text.encode("cp1252"))
    assert main(["check", "--json", "--config", str(file)]) == 1
    (problem,) = json.loads(capsys.readouterr().out)["problems"]
    assert problem["line"] == text[: text.index("Häuschen")].count("\n") + 1 and "UTF-8" in problem["right"]


def test_the_shortest_sweep_holds(tmp_path):
    """Short durations are good for a trial."""
    text = (
        write_config(tmp_path).read_text().replace('device = "simulated"', 'device = "simulated"\nsweep_every = "1s"')
    )
    assert load_text(text, "g").settings.modem.sweep_every == timedelta(seconds=1)


def test_an_inputs_number_may_be_of_any_length(tmp_path):
    """It is a name, not a figure."""
    text = write_config(tmp_path).read_text().replace("input = 1\n", "input = 9912345678901\n")
    assert load_text(text, "g").settings.tanks[1].floats[0].input == 9912345678901


def test_a_pin_in_the_file_is_noted_and_not_repeated(tmp_path, capsys):
    """`pin_file` names a file; the PIN itself stands in none that others may read. `serve` does not start with it."""
    file = write_config(tmp_path, line='pin_file = "4711"')
    assert main(["check", "--config", str(file)]) == 1
    said = capsys.readouterr().err
    assert "modem.pin_file: looks like the PIN itself" in said and "4711" not in said
