"""`away`: nobody draws water, until when; `--back` ends it; in words and as JSON."""

import json
from datetime import UTC, datetime, timedelta

from gateway.__main__ import main
from tests.handlers.days import Days


def test_away_and_back(tmp_path, capsys):
    """Each says what holds now, twice changes nothing, and wrong usage is told."""
    days = Days(tmp_path)

    def away(*words):
        code = main(["away", *words, "--config", str(tmp_path / "gateway.toml")])
        return code, *capsys.readouterr()

    assert away("--back") == (0, "Nobody had said that all are away.\n", "")
    code, out, _ = away("--until", "3d", "--json")
    document = json.loads(out)
    until = datetime.fromisoformat(document["until"]) - datetime.now(UTC)
    assert (code, document["away"]) == (0, True) and abs(until - timedelta(days=3)) < timedelta(hours=2)
    assert datetime.fromisoformat(document["since"]) < datetime.now(UTC)
    assert away("--until", "3d")[1].startswith("Nobody draws water until ")
    assert away()[1].startswith("Nobody draws water: any draw is told.")
    assert json.loads(away("--back", "--json")[1]) == {"away": False, "since": None, "until": None}
    assert away("--back")[1] == "Nobody had said that all are away.\n"
    assert away("--back", "--until", "3d")[0] == 2
    assert away("--until", "yesterday")[0] == 2
    assert [event.kind for event in days.events("away", "back")] == ["away", "away", "away", "back"]
    days.store.close()


def test_tanks_says_what_holds(tmp_path, capsys):
    """In a line, and in its JSON; of the past nothing is said."""
    days = Days(tmp_path, rest='[[watch]]\ncontact = "wren"\n')
    config = ("--config", str(tmp_path / "gateway.toml"))
    assert main(["tanks", "--json", *config]) == 0
    assert json.loads(capsys.readouterr().out)["presence"] is None
    assert main(["away", *config]) == 0
    capsys.readouterr()
    assert main(["tanks", "--json", *config]) == 0
    assert json.loads(capsys.readouterr().out)["presence"] == {"people": 0, "until": None}
    assert main(["tanks", *config]) == 0
    said = capsys.readouterr().out
    assert "\nWren has the watch until " in said and "\nNobody draws water.\n" in said
    assert main(["tanks", "--at", "yesterday", *config]) == 0
    assert "draws water" not in capsys.readouterr().out
    days.store.close()
