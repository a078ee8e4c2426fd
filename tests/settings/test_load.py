"""Every mistake at once, each with its line and what would be right."""

import json
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gateway.__main__ import main
from gateway.errors import ConfigurationWrong
from gateway.settings.durations import format_duration, parse_duration
from gateway.settings.json_schema import settings_schema
from gateway.settings.key_lines import find_key_lines
from gateway.settings.load import load, load_text
from gateway.settings.problem_locator import problem_line
from gateway.settings.tank_checks import ANIMAL_KINDS
from gateway.water.demand import BY_WARMTH_GAL_DAY, FLAT_L_DAY
from tests.household import write_config

CONFIG = Path(__file__).parents[2] / "config"


def wrong_with(tmp_path, old, new):
    """The problems of the household's file after one replacement, and the line of the replacement."""
    text = write_config(tmp_path).read_text()
    assert old in text
    text = text.replace(old, new, 1)
    with pytest.raises(ConfigurationWrong) as refused:
        load_text(text, "gateway.toml")
    return refused.value.problems, text


@pytest.mark.parametrize(
    ("old", "new", "key", "word"),
    [
        ("timezone =", "timezon =", "site.timezon", "timezone"),
        ('"Australia/Sydney"', '"Australia/Sidney"', "site.timezone", "Australia/Sydney"),
        ('country = "AU"', 'country = "ZZ"', "site.country", "ISO 3166"),
        ('number = "0491 570 006"', 'number = "0491 5700"', "controllers[0].number", "cannot be a phone number"),
        ('number = "0491 570 156"', "number = 5", "contacts[0].number", "string"),
        ("input = 1", "input = 2", "tanks[1].floats[0].input", "claimed"),
        ('controller = "ridge"', 'controller = "rigde"', "tanks[0].floats[0].controller", "ridge"),
        ('fed_by = ["spring"]', 'fed_by = ["house"]', "tanks[1].fed_by", "loop"),
        ('fed_by = ["spring"]', 'fed_by = ["sprng"]', "tanks[1].fed_by", "spring"),
        ("level_m = 0.45", "level_m = 2.45", "tanks[1].floats[0].level_m", "above the tank"),
        ('kind = "box"', 'kind = "bix"', "tanks[0].shape.kind", "unknown kind"),
        ("width_m = 1.0", "width_m = -1.0", "tanks[0].shape.width_m", "greater than 0"),
        ('means = "input"', 'means = "inputt"', "controllers[0].rules[0].means", "input"),
        ("people = 4", "people = 4\n[demand2]\nx = 1", "demand2", "unknown key"),
        ("people = 4", 'people = 4\nanimals = [{ kind = "dragon", head = 1 }]', "demand.animals[0].kind", "published"),
        (
            "[demand]",
            '[source]\npump = { kind = "ram", drive_flow_l_min = 30, fall_m = 30, lift_m = 3 }\n[demand]',
            "source.pump.lift_m",
            "lifts less",
        ),
        ("[demand]", '[call_out]\ntake_within = "5 minuts"\n[demand]', "call_out.take_within", "duration"),
        ("[demand]", '[digest]\nday = "sunday"\ncontacts = ["nobody"]\n[demand]', "digest.contacts", "no contact"),
    ],
)
def test_each_mistake_with_its_line(tmp_path, old, new, key, word):
    """Key, line, and the word that helps."""
    problems, text = wrong_with(tmp_path, old, new)
    found = [problem for problem in problems if problem.key == key]
    assert found, [problem_line(problem) for problem in problems]
    assert word in problem_line(found[0])
    assert 1 <= found[0].line <= text.count("\n") + 1
    leaf = key.rsplit(".", 1)[-1].split("[")[0]
    assert any(part in text.split("\n")[found[0].line - 1] for part in (leaf, "kind")), problem_line(found[0])


def test_mistakes_of_every_sort_in_one_go(tmp_path):
    """Unknown key, wrong type and what spans tables are told together."""
    text = write_config(tmp_path).read_text().replace("timezone =", "timezon =", 1)
    text = text.replace("people = 4", 'people = "many"').replace('controller = "ridge"', 'controller = "rigde"', 1)
    with pytest.raises(ConfigurationWrong) as refused:
        load_text(text, "gateway.toml")
    keys = {problem.key for problem in refused.value.problems}
    assert {"site.timezon", "site.timezone", "demand.people", "tanks[0].floats[0].controller"} <= keys


def test_a_rule_that_can_never_match_is_a_mistake(tmp_path, capsys):
    """`check` names it with its line and exits 1."""
    file = write_config(tmp_path)
    file.write_text(file.read_text().replace('text = "MAINS GONE"', 'text = "MAINS {nonsense}"'))
    assert main(["check", "--config", str(file)]) == 1
    assert "rules[2]" in capsys.readouterr().err


def test_broken_toml_and_missing_files_are_said(tmp_path, capsys):
    """A line, no traceback."""
    with pytest.raises(ConfigurationWrong) as refused:
        load_text('[site]\nname = "x\n', "gateway.toml")
    assert refused.value.problems[0].line == 2
    assert main(["check", "--config", str(tmp_path / "none.toml")]) == 1
    assert "cannot be read" in capsys.readouterr().err


def test_check_json_has_the_same(tmp_path, capsys):
    """Problems as JSON, with lines."""
    file = write_config(tmp_path)
    file.write_text(file.read_text().replace("timezone =", "timezon =", 1))
    assert main(["check", "--config", str(file), "--json"]) == 1
    found = json.loads(capsys.readouterr().out)["problems"]
    assert any(problem["suggestion"] == "timezone" and problem["line"] == 4 for problem in found)


@pytest.mark.parametrize("name", sorted(file.name for file in CONFIG.glob("*.toml")))
def test_sample_configurations_hold(name, capsys):
    """All samples pass `check`."""
    assert main(["check", "--config", str(CONFIG / name)]) == 0
    capsys.readouterr()


def test_the_full_sample_explains_every_key():
    """Each key of the models stands in `config/gateway.toml`, in a line or beneath a line that explains it."""
    lines = (CONFIG / "gateway.toml").read_text().split("\n")
    tables = [*settings_schema()["$defs"].values(), {"properties": {}}]
    for key in {key for table in tables for key in table.get("properties", {})}:
        stands = [
            line for line in lines if re.search(rf"(^|[\s{{,]){key} = ", line) or re.search(rf"\[.*\b{key}\]", line)
        ]
        assert any("#" in line for line in stands) or key in ("floats",), key


def test_the_animals_that_may_be_named_are_those_with_a_figure():
    """`check` accepts a kind just where the water room knows what one drinks."""
    assert set(ANIMAL_KINDS) == {*FLAT_L_DAY, *BY_WARMTH_GAL_DAY}


def test_numbers_become_e164():
    """However they were written."""
    settings = load(str(CONFIG / "two-boxes.toml")).settings
    assert settings.controllers[1].number == ("+61491570110", "+61491570159")
    assert settings.contacts[0].number == "+61491570156"


@pytest.mark.parametrize(
    ("said", "seconds"), [("90s", 90), ("1d 2h", 93600), ("1D2H", 93600), ("0s", 0), ("1.5h", 5400)]
)
def test_durations(said, seconds):
    """Several in a row, case aside."""
    assert parse_duration(said).total_seconds() == seconds


@pytest.mark.parametrize("said", ["", "5", "5 minuts", "h", "-5m", "5m later"])
def test_no_durations(said):
    """Said to be none."""
    with pytest.raises(ValueError, match="expected a duration"):
        parse_duration(said)


@given(st.integers(0, 10**7))
def test_durations_round_trip(seconds):
    """What is shown can be read back."""
    assert parse_duration(format_duration(parse_duration(f"{seconds}s"))).total_seconds() == seconds


@given(st.lists(st.sampled_from(["a", "b-c", '"d e"', "f"]), unique=True, min_size=1), st.integers(0, 5))
def test_key_lines_of_generated_documents(keys, blanks):
    """Each key is found on its own line, through comments, blank lines and long values."""
    lines, where = ["[t]"], {}
    for key in keys:
        lines += ["", "# comment = 1"] * blanks
        where[key.strip('"')] = len(lines) + 1
        lines += [f"{key} = [", "  1, # one", "  2 ]"]
    found = find_key_lines("\n".join(lines))
    assert {key: found.line(("t", key)) for key in where} == where


def test_what_is_wrong_by_itself_is_not_told_again_of_the_table():
    """An errand whose text is a number: that, and not also that its text is needed."""
    text = (CONFIG / "gateway.toml").read_text("utf-8")
    before, errands = text.split("[[controllers.errands]]", 1)
    with pytest.raises(ConfigurationWrong) as refused:
        load_text(before + "[[controllers.errands]]" + errands.replace('text = "', 'text = 7 # "', 1), "gateway.toml")
    wrong = [problem for problem in refused.value.problems if not problem.warning]
    assert [problem.key for problem in wrong] == ["controllers[0].errands[0].text"]
