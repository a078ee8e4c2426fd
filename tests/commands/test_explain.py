"""`explain` and `suggest` on the command line: what a person reads, in 80 columns, and the same as JSON."""

import io
import json
from pathlib import Path

import pytest

from gateway.__main__ import main
from tests.household import write_config

TURNS = """
[call_out]
take_within = "15m"
[limits]
price_per_segment = 0.12
"""


@pytest.fixture
def config(tmp_path: Path) -> str:
    """The household, with turns and a price."""
    file = write_config(tmp_path)
    text = file.read_text().replace('id = "robin"', 'id = "robin"\nturn = 2', 1)
    file.write_text(text + TURNS)
    return str(file)


def explained_by(config: str, capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """What `explain` prints; it never says a line of more than 80 columns."""
    assert main(["explain", *arguments, "--config", config]) == 0
    out = capsys.readouterr().out
    assert [line for line in out.split("\n") if len(line) > 80] == []
    return " ".join(out.split())


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        (
            "LINE 1 MADE 0717 SUPPLY 12.6 V",
            [
                'rule 1 "LINE {input} {state} *" fits: input = 1, state = MADE',
                "not tried: rule 1 fits and comes first",
                "the low float of House tank",
                "Event low, House tank",
                "House tank LOW",
                "Later Robin, at most 15m later, if nobody takes it",
                "Cost 1 × 0.12 = 0.12 EUR",
            ],
        ),
        (
            "LINE 1 HALF SUPPLY 12.6 V",
            ["does not fit: stops at 'HALF': expected MADE or BROKE", "Read by no rule", "volts 12.6"],
        ),
        ("LINE 7 MADE now", ["no float of this configuration"]),
        ("MAINS GONE", ["rule 3: power-lost", "Event power-lost, Ridge box"]),
        ("MAINS BACK", ["rule 4: power-back", "; it was not known to be lost"]),
        ("\x1b[2J" + "long " * 40, ["Read by no rule"]),
    ],
)
def test_a_controllers_text_is_explained(config, capsys, text, wanted):
    """Which rule and why not the earlier ones, what it took, what follows, who is told when, and the price."""
    shown = explained_by(config, capsys, text, "--from", "0491 570 006")
    assert [word for word in wanted if word not in shown] == []
    assert "\x1b" not in shown


@pytest.mark.parametrize(
    ("number", "text", "wanted"),
    [
        ("0491 570 156", "TANKS", "Wren, a contact: taken as an order"),
        ("wren", "TANKS", "Wren, a contact: taken as an order"),
        ("Ridge box", "LINE 1 MADE x", "Ridge box, a controller"),
        ("+61491570006", "LINE 1 MADE x", "Ridge box, a controller"),
    ],
)
def test_other_senders_are_explained(config, capsys, number, text, wanted):
    """A contact's text is an order; whoever sends is named by id, name or number."""
    assert wanted in explained_by(config, capsys, text, "--from", number)


def test_a_stranger_is_asked_for(config, capsys):
    """Else a slip in the number would show what becomes of nobody's text."""
    stranger = ("--from", "02 5550 1234")
    assert "a stranger: kept, not answered" in explained_by(config, capsys, "hello", *stranger, "--stranger")
    assert main(["explain", "hello", *stranger, "--config", config]) == 1
    assert "nobody's here; right would be a name or number" in capsys.readouterr().err


@pytest.mark.parametrize("number", ["0491 570 005", "0491 570 0066", "0491 57 006", "0491 507 006"])
def test_a_number_that_is_one_digit_off_names_the_near_miss(config, capsys, number):
    """Another digit, one too many, one too few, two exchanged."""
    assert main(["explain", "LINE 1 MADE x", "--from", number, "--config", config]) == 1
    assert "one digit off" in capsys.readouterr().err


@pytest.mark.parametrize("said", ["pump", "7", ""])
def test_a_name_that_nobody_has_is_no_number_with_a_digit_wrong(config, capsys, said):
    """It is nobody's, and nothing more is said of it."""
    assert main(["explain", "--config", config, "--from", said, "hello"]) != 0
    error = capsys.readouterr().err
    assert "nobody's here" in error and "one digit off" not in error


def test_a_stranger_has_a_number(config, capsys):
    """Without one it was explained as the box's."""
    assert main(["explain", "--config", config, "--stranger", "hello"]) == 2
    assert "--stranger with --from" in capsys.readouterr().err


def test_settling_is_said(tmp_path, capsys):
    """A float that must hold its state first."""
    file = write_config(tmp_path)
    file.write_text(file.read_text().replace("level_m = 0.4\n", 'level_m = 0.4\nsettle = "2m"\n', 1))
    shown = explained_by(str(file), capsys, "LINE 2 MADE now", "--from", "0491 570 006")
    assert "it counts once it has held for 2m" in shown and "Event low, Spring tank" in shown
    assert "after 2m" in shown and "Spring tank LOW" in shown


def test_what_is_known_already_is_said_and_the_quiet_site_offered(config, capsys, tmp_path):
    """After a real low the same text only says it again; `--fresh` shows what it would do otherwise."""
    (tmp_path / "old.csv").write_text("received_at,sender,text\n2026-11-01,0491 570 006,LINE 1 MADE x\n")
    assert main(["import", str(tmp_path / "old.csv"), "--config", config]) == 0
    capsys.readouterr()
    ridge = ("LINE 1 MADE y", "--from", "ridge")
    again = explained_by(config, capsys, *ridge)
    assert "Else as if nothing had come before: the same with --fresh" in again or "House tank LOW" in again
    assert "House tank LOW" in explained_by(config, capsys, *ridge, "--fresh")


def test_what_a_star_passes_over_is_shown(config, capsys):
    """Two inputs in one text are both read."""
    shown = explained_by(config, capsys, "LINE 1 MADE 0717, LINE 2 BROKE 0718", "--from", "ridge")
    assert 'its * passes over "0717, LINE 2 BROKE 0718"' in shown
    assert "input 1 active" in shown and "input 2 idle" in shown


def test_many_texts_end_with_a_count(config, capsys, monkeypatch):
    """A whole chat, of which only the box's texts are read."""
    said = ("LINE 1 MADE now", "mumble", "STATION WELL 1")
    chat = "".join(f"12/03/26, 07:1{at} - Ridge box: {text}\n" for at, text in enumerate(said))
    monkeypatch.setattr("sys.stdin", io.StringIO(chat))
    assert explained_by(config, capsys).endswith("3 texts: 2 read, 1 by no rule.")


def test_without_text_each_line_of_standard_input_is_explained(config, capsys, monkeypatch):
    """Until it ends; nothing is stored, so each stands alone. The only controller needs no --from."""
    monkeypatch.setattr("sys.stdin", io.StringIO("LINE 1 MADE a\n\ninput 1 active\tLINE 1 MADE b\nmumble\n"))
    assert main(["explain", "--json", "--config", config]) == 0
    explained = json.loads(capsys.readouterr().out)["texts"]
    assert [(text["rule"], [event["kind"] for event in text["events"]]) for text in explained] == [
        (1, ["low"]),
        (1, ["low"]),
        (None, ["unread"]),
    ]
    assert explained[0]["later"] == [{"contact": "robin", "after": "15m"}]


def test_suggest_reads_a_file_or_standard_input_and_pastes(tmp_path, capsys, monkeypatch):
    """What it prints, pasted beneath the controller, passes `check`; samples no rule reads make exit code 1."""
    texts = tmp_path / "texts.txt"
    texts.write_text("input 1 active\tFLOAT1:UP\ninput 1 idle\tFLOAT1:DN\nalive\tMORNING ALL\n")
    assert main(["suggest", str(texts)]) == 0
    toml = capsys.readouterr().out
    file = write_config(tmp_path)
    head, tail = file.read_text().split("  [[controllers.rules]]", 1)
    file.write_text(head + toml + tail[tail.index("[[tanks]]") :])
    assert main(["check", "--config", str(file)]) == 0
    capsys.readouterr()
    monkeypatch.setattr("sys.stdin", io.StringIO(texts.read_text()))
    assert main(["suggest", "-", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["toml"].strip() == toml.strip()
    contradicting = "input 1 active\tFLOAT1:UP\ninput 1 idle\tFLOAT1:UP\n"
    monkeypatch.setattr("sys.stdin", io.StringIO(contradicting))
    assert main(["suggest", "-"]) == 1
    assert "FLOAT1:UP" in capsys.readouterr().err
