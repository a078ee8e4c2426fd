"""Gauges, inputs that are no tank's, and limits of a reading: accepted as the contract has them, and each mistake with its key."""

import pytest

from gateway.commands.configuration_checks import EXTRA_CHECKS
from gateway.errors import ConfigurationWrong
from gateway.settings.load import load_text
from tests.household import write_config

RULE = '\n  [[controllers.rules]]\n  text = "GAUGE {input} {level}"\n  means = "level"\n'
HILL = """
[[tanks]]
id = "hill"
name = "Hill tank"
shape = { kind = "upright-cylinder", diameter_m = 2.0, height_m = 1.8 }
  [[tanks.gauges]]
  controller = "ridge"
  input = "L1"
  reads = "mA"
  points = [[4, 0], [20, 1.8]]
  low_m = 0.45
  high_m = 1.7
  band_m = 0.05
"""
LID = """
[[inputs]]
controller = "ridge"
input = 9
name = "Lid"
active_says = "is open"
idle_says = "is shut"
"""


def loaded(tmp_path, *, rule=RULE, rest=HILL + LID):
    """The household's file with these tables, checked as every command checks it."""
    return load_text(write_config(tmp_path, controller=rule, rest=rest).read_text(), "gateway.toml", EXTRA_CHECKS)


def test_the_keys_are_taken_as_written(tmp_path):
    """With the contract's defaults for what is not said; none of them is worth a note."""
    read = loaded(tmp_path)
    (gauge,) = read.settings.tanks[2].gauges
    assert (gauge.input, gauge.reads, gauge.points, gauge.band_m) == ("L1", "mA", ((4, 0), (20, 1.8)), 0.05)
    (lid,) = read.settings.inputs
    assert (lid.advice, lid.priority) == ("", "soon")
    assert not [note for note in read.warnings if note.key.startswith(("tanks[2]", "inputs"))]


@pytest.mark.parametrize(
    ("old", "new", "key", "word"),
    [
        ('reads = "mA"', 'reads = "mm"', "tanks[2].gauges[0].reads", "mA"),
        ("[[4, 0], [20, 1.8]]", "[[20, 0], [4, 1.8]]", "tanks[2].gauges[0].points", "rise"),
        ("[[4, 0], [20, 1.8]]", "[[4, 0]]", "tanks[2].gauges[0].points", "two"),
        ("[[4, 0], [20, 1.8]]", "[[4, 0], [20, 2.8]]", "tanks[2].gauges[0].points", "above the tank"),
        ("low_m = 0.45", "low_m = 2.45", "tanks[2].gauges[0].low_m", "above the tank"),
        ("low_m = 0.45", "low_m = 1.65", "tanks[2].gauges[0].high_m", "band"),
        ('input = "L1"', "input = 1", "tanks[2].gauges[0].input", "claimed by a float of 'house'"),
        ("input = 9", 'input = "l1"', "inputs[0].input", "claimed by a gauge of 'hill'"),
        ("input = 9", "input = 2", "inputs[0].input", "claimed by a float of 'spring'"),
        ('name = "Lid"', 'name = " "', "inputs[0].name", "empty"),
        ('active_says = "is open"', 'active_says = ""', "inputs[0].active_says", "empty"),
        ('idle_says = "is shut"\n', "", "inputs[0].idle_says", ""),
        (
            '[[inputs]]\ncontroller = "ridge"',
            '[[inputs]]\ncontroller = "rigde"',
            "inputs[0].controller",
            "no controller",
        ),
    ],
)
def test_each_mistake_with_its_key_and_line(tmp_path, old, new, key, word):
    """All of them keep the gateway from starting."""
    rest = HILL + LID
    assert old in rest
    with pytest.raises(ConfigurationWrong) as refused:
        loaded(tmp_path, rest=rest.replace(old, new, 1))
    told = {problem.key: problem for problem in refused.value.problems}
    assert word in f"{told[key].wrong} {told[key].right}" and told[key].line > 1


def test_percent_needs_a_height(tmp_path):
    """The tank's, or points."""
    with pytest.raises(ConfigurationWrong) as refused:
        loaded(tmp_path, rest=HILL.replace("shape =", "# shape =").replace("points =", "# points ="))
    assert "which height" in refused.value.problems[0].wrong


@pytest.mark.parametrize(
    ("rule", "key", "word"),
    [
        ('text = "GAUGE {input}"\nmeans = "level"', "text", "{level}"),
        ('text = "GAUGE {level}"\nmeans = "level"', "input", "{input}"),
        ('text = "BOX {celsius}"\nmeans = "reading"\nname = "Box"', "name", "low"),
        ('text = "BOX {celsius}"\nmeans = "alive"\nlow = 2', "low", "reading"),
        ('text = "BOX {celsius} {volts}"\nmeans = "reading"\nlow = 2', "low", "several"),
        ('text = "BOX"\nmeans = "reading"\nhigh = 2', "high", "no number"),
        ('text = "BOX {celsius}"\nmeans = "reading"\nlow = 5\nhigh = 2', "high", "above"),
        ('text = "BOX {celsius}"\nmeans = "reading"\nof = "boxx"', "of", "box"),
    ],
)
def test_rules_that_cannot_do_what_they_are_there_for(tmp_path, rule, key, word):
    """A level without its number or its input, a limit of nothing."""
    with pytest.raises(ConfigurationWrong) as refused:
        loaded(tmp_path, rule=f"{RULE}  [[controllers.rules]]\n{rule}\n")
    (problem,) = [problem for problem in refused.value.problems if problem.key.endswith(f".{key}")]
    assert word in f"{problem.wrong} {problem.right}"


def test_a_gauge_that_no_rule_tells_of_is_noted(tmp_path):
    """A rule about inputs is none about levels."""
    notes = {note.key: note.wrong for note in loaded(tmp_path, rule="").warnings}
    assert "no rule of 'ridge' tells of the level of input L1" in notes["tanks[2].gauges[0].input"]
    assert "no text can reach 'Hill tank'" in notes["tanks[2].gauges[0].input"]
