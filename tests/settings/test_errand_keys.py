"""The keys of errands and of the drill: what is accepted, what is refused with its line, what is remarked on."""

import json

import pytest

from gateway.__main__ import main
from gateway.settings.load import load
from tests.household import write_config

CONTRACT = """
  [[controllers.errands]]
  id = "status"
  text = "REPORT {time}"
  answer = "STATION *"
  within = "5m"
  tries = 1
  risk = "looks"
  may = []
  longest = "0s"
  stop_text = ""
"""
MINIMAL = '[[controllers.errands]]\nid = "status"\ntext = "REPORT"\n'


def checked(tmp_path, capsys, controller="", rest=""):
    """(exit code, what is said of the file)."""
    code = main(["check", "--config", str(write_config(tmp_path, controller=controller, rest=rest))])
    said = capsys.readouterr()
    return code, said.err + said.out


def test_the_keys_of_the_contract(tmp_path, capsys):
    """All of them, word for word, and no remark on them."""
    code, said = checked(tmp_path, capsys, CONTRACT, '[drill]\nevery = ""')
    assert (code, "errands" in said, "drill" in said) == (0, False, False)


def test_what_may_be_left_out(tmp_path):
    """Only `id` and a text are needed; the rest is what the contract says."""
    errand = load(str(write_config(tmp_path, controller=MINIMAL))).settings.controllers[0].errands[0]
    kept = errand.model_dump(mode="json", exclude={"id", "text", "text_file"})
    assert kept == {
        "answer": "", "within": "5m", "tries": 1, "risk": "looks", "may": [], "longest": "0s", "stop_text": "",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        ('id = "status"', "errands[0].text: is needed"),
        ('id = "all well"\ntext = "A"', "cannot be said in a text"),
        ('id = "a"\ntext = "A"\nwithin = "0s"', "leaves no time"),
        ('id = "a"\ntext = "A"\nrisk = "looks"\nlongest = "5m"', "only an errand that switches"),
        ('id = "a"\ntext = "A"\nrisk = "switches"\nlongest = "5m"', "nothing is said that would end it"),
        ('id = "a"\ntext = "A"\nrisk = "switches"\nstop_text = "B"', "it never leaves"),
        ('id = "a"\ntext = "A"\nmay = ["wern"]', 'did you mean "wren"?'),
        ('id = "a"\ntext = "A"\nanswer = "STATE {colour}"', "{colour} is no field"),
        ('id = "a"\ntext = "A"\nrisk = "sometimes"', "errands[0].risk"),
        ('id = "a"\ntext = "A"\ntries = 0', "errands[0].tries"),
        ('id = "a"\ntext_file = "/nowhere/secret"', "cannot be read"),
        ('id = "a"\ntext = "A"\n[[controllers.errands]]\nid = "A"\ntext = "B"', "has another errand"),
    ],
)
def test_what_cannot_be_meant_is_refused_with_its_line(tmp_path, capsys, lines, says):
    """Each with the key, before anything leaves."""
    code, said = checked(tmp_path, capsys, f"[[controllers.errands]]\n{lines}")
    line = next((line for line in said.splitlines() if says in line), "")
    assert code == 1 and line.split(":")[1].isdecimal(), said


@pytest.mark.parametrize(
    ("lines", "rest", "says"),
    [
        ('id = "a"\ntext = "A"\nanswer = "STATE {word}"', "", "could read the answer to its errand 'a'"),
        ('id = "a"\ntext = "A {gateway}"', "", "its own number only if its SIM tells it"),
        ('id = "a"\ntext = "A {date}"', "", "{date} is nothing that is filled in"),
        ('id = "a"\ntext = "A"\nrisk = "switches"', "", "stays so until somebody ends it"),
        ('id = "a"\ntext = "A"\nrisk = "sets"\nmay = ["finch"]', "landline", "none may order what sets"),
        ('id = "a"\ntext = "A"', '[drill]\nevery = "500d"', "rarer than once a year"),
    ],
)
def test_what_is_odd_is_remarked_on(tmp_path, capsys, lines, rest, says):
    """And the gateway starts all the same."""
    if rest == "landline":
        rest = '[[contacts]]\nid = "finch"\nname = "Finch"\nnumber = "02 5550 0110"\nline = "landline"'
    code, said = checked(tmp_path, capsys, f"[[controllers.errands]]\n{lines}", rest)
    assert code == 0 and says in said, said


def test_an_answer_that_a_rule_reads_needs_no_remark(tmp_path, capsys):
    """By a whole rule, by one that is found anywhere, by a pattern that leaves all open."""
    for answer in ("STATION WELL {time}", "RELAY * SUPPLY {volts} V", "*"):
        code, said = checked(tmp_path, capsys, f'[[controllers.errands]]\nid = "a"\ntext = "A"\nanswer = "{answer}"')
        assert (code, "could read" in said) == (0, False), answer


def test_the_text_of_a_file(tmp_path):
    """It may hold the box's password, and then stands nowhere else."""
    (tmp_path / "secret").write_text("4711 REPORT\n")
    lines = f'[[controllers.errands]]\nid = "a"\ntext_file = "{tmp_path}/secret"'
    assert load(str(write_config(tmp_path, controller=lines))).settings.controllers[0].errands[0].text == "4711 REPORT"


def test_the_gateways_own_number_is_read_as_all_are(tmp_path, capsys):
    """Nationally or with +; what can be none is refused."""
    settings = load(str(write_config(tmp_path, line='number = "0491 570 110"'))).settings
    assert settings.modem.number == "+61491570110"
    assert main(["check", "--config", str(write_config(tmp_path, line='number = "12"'))]) == 1
    assert "modem.number" in capsys.readouterr().err


def test_the_schema_explains_them(capsys):
    """Each key, with the words that it may be."""
    assert main(["schema"]) == 0
    tables = json.loads(capsys.readouterr().out)["$defs"]
    assert all("description" in rule for rule in tables["Errand"]["properties"].values())
    assert tables["Errand"]["properties"]["risk"]["enum"] == ["looks", "sets", "switches"]
    assert "description" in tables["Drill"]["properties"]["every"]
