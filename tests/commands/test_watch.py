"""`watch`: who is called first, in words and as JSON; with a contact it asks; what cannot be meant is said."""

import json
from datetime import UTC, datetime, timedelta

import pytest

from gateway.__main__ import main
from tests.handlers.days import Days
from tests.household import ROBIN

HALL = '[[contacts]]\nid = "hall"\nname = "Hall"\nnumber = "02 5550 0100"\nline = "landline"\n'


@pytest.fixture
def days(tmp_path):
    """A household with a landline."""
    made = Days(tmp_path, rest=HALL)
    yield made
    made.store.close()


def watch(days, capsys, *words, command="watch"):
    """(exit code, what it printed, what it said of mistakes)."""
    code = main([command, *words, "--config", str(days.folder / "gateway.toml")])
    out, err = capsys.readouterr()
    return code, out, err


def test_it_asks_and_says_who_has_it(days, capsys):
    """Asked, then given; `alarms` says it too."""
    assert watch(days, capsys) == (0, "Nobody has the watch: all are called by their turns.\n", "")
    code, out, _ = watch(days, capsys, "Robin", "--until", "3d")
    assert (code, out) == (0, "Robin is asked by text; it counts once Robin says OK.\n")
    document = json.loads(watch(days, capsys, "--json")[1])
    assert document["watch"] is None and document["asked"]["contact"] == "robin"
    assert "Robin was asked" in watch(days, capsys)[1]
    now = datetime.now(UTC)
    assert [number for number, _ in days.leaves(now)] == [ROBIN]
    days.comes(now, "OK", number=ROBIN)
    until = datetime.fromisoformat(json.loads(watch(days, capsys, "--json")[1])["watch"]["until"])
    assert abs(until - now - timedelta(days=3)) < timedelta(hours=2)
    said = json.loads(watch(days, capsys, "--json", command="alarms")[1])["watch"]
    assert (said["contact"], said["by_word"]) == ("robin", True)
    assert watch(days, capsys)[1].startswith("Robin has the watch until ")
    assert watch(days, capsys, command="alarms")[1].startswith("Robin has the watch until ")


def test_asking_has_its_json(days, capsys):
    """One document, with who was asked until when."""
    code, out, _ = watch(days, capsys, "wren", "--until", "2d", "--json")
    assert code == 0 and json.loads(out)["asked"]["contact"] == "wren"


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (("heron",), 1, "there is not one contact called 'heron'; there are: wren (Wren), robin (Robin), hall (Hall)"),
        (("hall",), 1, "Hall cannot answer OK by text"),
        (("robin", "--until", "yesterday"), 2, "'yesterday' is no time to come; right would be: sunday"),
        (("--until", "sunday"), 2, "--until needs a contact"),
    ],
)
def test_what_cannot_be_meant(days, capsys, words, code, told):
    """Nobody is asked."""
    found, out, err = watch(days, capsys, *words)
    assert (found, out) == (code, "") and told in err
    assert days.outbox() == []


def test_a_name_of_two_is_neither_of_them(tmp_path, capsys):
    """The id alone says who is meant."""
    other = '[[contacts]]\nid = "robin-b"\nname = "Robin"\nnumber = "0491 570 159"\n'
    days = Days(tmp_path, rest=other)
    assert watch(days, capsys, "Robin")[0] == 1
    assert days.outbox() == []
    assert watch(days, capsys, "robin")[0] == 0
    assert [number for number, _ in days.leaves(datetime.now(UTC))] == [ROBIN]
    days.store.close()
