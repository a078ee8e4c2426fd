"""`history --figures` on the command line: alarms against published bounds, and each tank's low episodes."""

import json
from pathlib import Path

import pytest

from gateway.__main__ import main
from gateway.storage import open_store
from tests.household import write_config

OLD_TEXTS = """\
received_at,sender,text
2026-01-03T06:00:00+11:00,0491 570 006,LINE 1 MADE
2026-01-03T16:00:00+11:00,0491 570 006,LINE 1 BROKE
2026-03-01T06:00:00+11:00,0491 570 006,LINE 1 MADE
2026-03-01T10:00:00+11:00,0491 570 006,LINE 1 BROKE
"""


@pytest.fixture
def config(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> str:
    """The household, with two low episodes of the house tank taken over from a phone."""
    file = write_config(tmp_path)
    old = tmp_path / "old.csv"
    old.write_text(OLD_TEXTS)
    assert main(["import", str(old), "--config", str(file)]) == 0
    capsys.readouterr()
    return str(file)


def test_figures_in_eighty_columns(config, capsys):
    """Each tank has its row; no line is wider than a terminal."""
    assert main(["history", "--figures", "--config", config]) == 0
    out = capsys.readouterr().out
    assert [line for line in out.split("\n") if len(line) > 80] == []
    (row,) = [line.split() for line in out.split("\n") if line.startswith("House tank")]
    assert row[2] == "2" and row[-2:] == ["4.0", "h"]


def test_figures_as_json(config, capsys):
    """The same as values: two episodes, half of them over after four hours; a rate with its interval."""
    assert main(["history", "--figures", "--json", "--config", config]) == 0
    low = json.loads(capsys.readouterr().out)["low_spells"]
    assert low["house"]["count"] == 2 and low["house"]["median_h"] == 4.0
    few, likely, many = low["house"]["a_year"]
    assert 0 < few < likely < many


def test_a_control_room_s_rates_are_not_shown(config, capsys):
    """150 alarms a day are no measure of a house; what a phone shows in ten minutes, what stands for a day and what chatters is."""
    assert main(["history", "--figures", "--json", "--config", config]) == 0
    figures = json.loads(capsys.readouterr().out)["figures"]
    assert [figure["name"] for figure in figures] == [
        "days looked at", "most in ten minutes", "floats that chattered", "over 24 h old, on one day"
    ]  # fmt: skip
    assert main(["history", "--figures", "--config", config]) == 0
    out = capsys.readouterr().out
    assert "holds for a house" in out and "at most 10" in out and "150" not in out and "6 to 12" not in out


def test_no_history(tmp_path, capsys):
    """Before anything happened nothing is said of how often, and no rate is made of a moment."""
    file = write_config(tmp_path)
    open_store(f"sqlite:///{tmp_path}/gateway.db", "Quandong Ridge").close()
    assert main(["history", "--figures", "--json", "--config", str(file)]) == 0
    assert set(json.loads(capsys.readouterr().out)["low_spells"].values()) == {None}
