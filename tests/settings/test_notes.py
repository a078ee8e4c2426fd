"""What is odd but no mistake → notes, each with its line; and mistakes told in one go with slips of the pen."""

import json

import pytest

from gateway.__main__ import main
from gateway.commands.configuration_checks import EXTRA_CHECKS
from gateway.errors import ConfigurationWrong
from gateway.settings.load import load_text
from tests.household import write_config


def notes_with(tmp_path, old, new):
    """key → what is said, after one replacement in the household's file."""
    url = "postgresql://gateway@server/water" if "backup_folder" in new else f"sqlite:///{tmp_path}/gateway.db"
    text = write_config(tmp_path, url=url).read_text()
    assert old in text
    loaded = load_text(text.replace(old, new, 1), "gateway.toml", EXTRA_CHECKS)
    return {problem.key: problem.wrong for problem in loaded.warnings if "kept for fiction" not in problem.wrong}


@pytest.mark.parametrize(
    ("old", "new", "key", "said"),
    [
        ('"0491 570 156"', '"02 5550 0123"', "contacts[0].line", "is a landline"),
        ('"0491 570 156"', '"0999 570 999"', "contacts[0].number", "nobody has been given"),
        ('"0491 570 156"', '"0491 570 157"', "contacts[1].number", "has this number too"),
        ('"0491 570 156"', '"0491 570 006"', "contacts[0].number", "would be taken for a person's"),
        ('number = "0491 570 157"', 'number = "0491 570 157"\nline = "landline"', "contacts[1].line", "is a mobile"),
        ("input = 1", 'input = "old shed"', "tanks[1].floats[0].input", "no text can reach 'House tank'"),
        ('active = ["MADE"]', 'active = ["MADE", "broke"]', "controllers[0].rules[0].active", "both active and idle"),
        ('name = "House tank"', 'name = "Tank 家"', "tanks[1].name", "letters that a plain text lacks"),
        ("[store]", '[store]\nbackup_folder = "/mnt"', "store.backup_folder", "makes no backup"),
        ('name = "House tank"', f'name = "{"House tank " * 16}"', "tanks[1].name", "take a further segment"),
    ],
)
def test_an_oddity_is_a_note(tmp_path, old, new, key, said):
    """The gateway starts all the same."""
    notes = notes_with(tmp_path, old, new)
    assert said in notes.get(key, ""), notes


@pytest.mark.parametrize(
    ("text", "key", "meant"),
    [
        ('text = "STATION WELL {vots}"', "text", "{volts}"),
        ('text = "STATION WELL { VOLT }"', "text", "{volts}"),
        ("regex = 'STATION WELL (?P<vots>.*)'", "regex", "volts"),
        ('text = "STATION WELL {quandong}"', "text", None),
    ],
)
def test_a_misspelt_field_is_told_with_the_one_that_was_meant(tmp_path, text, key, meant):
    """As it would be written there; none where nothing is like it."""
    config = write_config(tmp_path).read_text().replace('text = "STATION WELL *"', text)
    with pytest.raises(ConfigurationWrong) as refused:
        load_text(config, "gateway.toml", EXTRA_CHECKS)
    assert [(problem.key, problem.suggestion) for problem in refused.value.problems] == [
        (f"controllers[0].rules[1].{key}", meant)
    ]


@pytest.mark.parametrize(
    ("house", "box", "keys"),
    [
        (20, 20, []),
        (80, 20, ["site.language"]),
        (150, 20, ["tanks[1].name"]),
        (150, 150, ["controllers[0].name", "tanks[1].name"]),
        (150, 76, ["site.language", "tanks[1].name"]),
    ],
)
def test_a_long_name_is_remarked_on_once(tmp_path, house, box, keys):
    """By itself where it leaves no room even for what is weightiest, else by the messages that are cut; each name for itself."""
    text = write_config(tmp_path).read_text()
    text = text.replace('"House tank"', f'"{"H" * house}"').replace('"Ridge box"', f'"{"R" * box}"')
    cut = [
        problem
        for problem in load_text(text, "gateway.toml", EXTRA_CHECKS).warnings
        if "further segment" in problem.wrong
    ]
    assert sorted(problem.key for problem in cut) == keys


def test_numbers_kept_for_fiction_are_one_calm_line(tmp_path, capsys):
    """The demonstration's own numbers: one note in all, exit code 0."""
    file = write_config(tmp_path)
    file.chmod(0o640)
    assert main(["check", "--config", str(file)]) == 0
    said = capsys.readouterr().err.strip().split("\n")
    assert len([line for line in said if "kept for fiction" in line]) == 1


def test_slips_and_mistakes_and_notes_in_one_go(tmp_path, capsys):
    """A line that is no TOML hides neither another such line nor what is wrong behind it, and is not missed twice."""
    text = write_config(tmp_path).read_text()
    text = text.replace('name = "Quandong Ridge"', "name = Quandong Ridge", 1)
    text = text.replace("[[controllers]]", "[[controllers]", 1).replace('means = "input"', 'means = "inputt"', 1)
    text = text.replace("people = 4", 'people = 4\n[call_out]\nurgent = ["lw"]\ntake_within = "999999999w"', 1)
    file = tmp_path / "slips.toml"
    file.write_text(text)
    assert main(["check", "--json", "--config", str(file)]) == 1
    found = json.loads(capsys.readouterr().out)
    told = {(problem["key"], problem["suggestion"]) for problem in found["problems"]}
    assert told == {
        ("", None),
        ("controllers[0].rules[0].means", "input"),
        ("call_out.urgent[0]", "low"),
        ("call_out.take_within", None),
    }
    slips = [problem for problem in found["problems"] if not problem["key"]]
    assert [text.split("\n")[problem["line"] - 1].strip() for problem in slips] == [
        "name = Quandong Ridge",
        "[[controllers]",
    ]
    assert all(problem["wrong"] and problem["right"] and problem["found"] for problem in found["problems"])
    assert any("fiction" in problem["wrong"] for problem in found["warnings"])


@pytest.mark.parametrize(
    "text", ["", "[", "a = [1,", 'a = "x', "= 3", "a = {b = 1", "[[x]\n[[y]\nz", "a = 1\na = 2\n" * 9]
)
def test_whatever_is_no_toml_is_said_with_a_line(text):
    """No traceback, at least one mistake."""
    with pytest.raises(ConfigurationWrong) as refused:
        load_text(text, "gateway.toml")
    assert all(problem.line >= 1 for problem in refused.value.problems) and refused.value.problems
