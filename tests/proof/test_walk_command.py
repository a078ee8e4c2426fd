"""`walk` beside a `serve` that runs, led through by a box whose hands do what it says: JSON, exit codes, the sheet, Ctrl-C."""

import json
import re
import signal

import pytest

from gateway.__main__ import main
from gateway.simulator.wired_box import Wiring
from tests.errands.field import in_the_field
from tests.household import ROBIN, WREN, write_config

INPUT_OF = {"House tank": 1, "Spring tank": 2}
STEP = re.compile(r"(Lift|let) the float of (.+) (?:now|hang)")


@pytest.fixture(scope="module")
def field(tmp_path_factory):
    """One daemon; each test wires the box anew."""
    with in_the_field(tmp_path_factory.mktemp("field")) as at_work:
        yield at_work


def led(field, *arguments, wiring=None, wait="8s"):
    """Walks as the instructions on standard error say; (exit code, document, what was said)."""
    field.box.wiring = wiring or Wiring()
    command = field.begins("walk", "--json", "--wait", wait, "--to", "wren", *arguments)
    said = []
    for line in command.stderr:
        said.append(line)
        step = STEP.search(line)
        if step:
            field.box.switches(INPUT_OF[step[2]], active=step[1] == "let")
    return command.wait(60), json.loads(command.stdout.read() or "{}"), said


def test_the_document_of_the_contract(field):
    """Passed, with each leg; nobody but the tester heard of it."""
    code, document, _ = led(field)
    assert code == 0 and document["passed"] is True
    for tried in document["floats"]:
        assert list(tried) == ["tank", "controller", "input", "result", "why", "active", "idle"]
        assert (tried["result"], tried["why"]) == ("passed", None)
        for leg in (tried["active"], tried["idle"]):
            assert {"text", "heard_after_s", "sent_after_s", "delivered_after_s"} <= leg.keys()
            assert leg["heard_after_s"] <= leg["sent_after_s"] <= leg["delivered_after_s"]
    assert field.got(ROBIN) == [] and all(text.startswith("TEST:") for text in field.got(WREN))


@pytest.mark.parametrize(
    ("wiring", "why"),
    [
        (Wiring(crossed={1: 2, 2: 1}), "The float of Spring tank answered"),
        (Wiring(reversed=frozenset({1})), "the opposite of what the hand did"),
        (Wiring(never_over=True), "never said that it is over"),
        (Wiring(dead=frozenset({1})), "Nothing came"),
        (Wiring(sends_from="+61491570159"), "not the box's number here"),
    ],
)
def test_wrong_wiring_at_the_terminal(field, wiring, why):
    """Each is named, and the exit code is 1."""
    code, document, _ = led(field, "--tank", "house", wiring=wiring, wait="3s")
    (tried,) = document["floats"]
    assert (code, document["passed"], tried["result"]) == (1, False, "failed") and why in tried["why"]


def test_the_terminal_the_sheet_and_the_record(field, tmp_path):
    """What a person sees; a page to print; the dated record."""
    field.box.wiring = Wiring()
    sheet = tmp_path / "sheet.html"
    command = field.begins("walk", "--tank", "house", "--wait", "8s", "--sheet", str(sheet))
    out = []
    for line in command.stdout:
        out.append(line)
        step = STEP.search(line)
        if step:
            field.box.switches(1, active=step[1] == "let")
    assert command.wait(60) == 0, out
    text = "".join(out)
    assert "came: LINE 1" in text and "Passed. It is on record." in text
    assert "House tank (ridge, input 1)" in sheet.read_text("utf-8")
    assert re.search(r"<td>LINE 1 [^<]* — heard \d+\.\d s", sheet.read_text("utf-8"))
    assert "walk-passed" in field.command("history")[1]


@pytest.mark.parametrize("name", ["gateway.toml", "letter.txt", "link", "none/sheet.html"])
def test_a_sheet_is_written_over_nothing_else(tmp_path, capsys, name):
    """Said before anything is walked, and not an hour later."""
    config = str(write_config(tmp_path))
    (tmp_path / "letter.txt").write_text("Dear Wren")
    (tmp_path / "link").symlink_to("letter.txt")
    assert main(["walk", "--sheet", str(tmp_path / name), "--config", config]) == 1
    assert str(tmp_path / name.partition("/")[0]) in capsys.readouterr().err
    assert (tmp_path / "letter.txt").read_text() == "Dear Wren"


def test_ctrl_c_and_on_with_it(field):
    """The walk waits; the same command goes on with it, and what it stopped at is walked then."""
    field.box.wiring = Wiring()
    command = field.begins("walk", "--json", "--wait", "20s")
    for line in command.stderr:
        if STEP.search(line):
            command.send_signal(signal.SIGINT)
            break
    said = command.stderr.read()
    assert command.wait(120) == 130 and "goes on with it" in said
    code, document, _ = led(field)
    assert (code, len(document["floats"])) == (0, 2)


def test_without_a_daemon_and_without_a_float(tmp_path, capsys):
    """Said before anything is begun."""
    file = str(write_config(tmp_path))
    assert main(["walk", "--config", file]) == 1 and "no daemon runs" in capsys.readouterr().err
    assert main(["walk", "--wait", "soon", "--config", file]) == 2
    assert main(["walk", "--tank", "barn", "--config", file]) == 1
