"""Arguments that cannot be meant: said in words, with what would be right; nothing that is there is lost."""

import json
import os
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from gateway.__main__ import main
from gateway.commands.argument_parser import MODEM_MAKES
from gateway.commands.serve import habits_of_simulated
from gateway.errors import GatewayError, UsageWrong
from gateway.facts import Event
from gateway.settings.load import load
from gateway.simulator.makes import MAKES
from gateway.simulator.story import STORY
from gateway.storage import open_store
from tests.household import write_config

NOW = datetime(2026, 3, 1, tzinfo=UTC)


@pytest.fixture
def run(tmp_path, monkeypatch, capsys):
    """run("tanks", …) → (exit code, output, what was said to be wrong); there is a store, with nothing in it."""
    monkeypatch.chdir(tmp_path)
    config = str(write_config(tmp_path))
    open_store(f"sqlite:///{tmp_path}/gateway.db", "Quandong Ridge").close()

    def go(*words):
        code = main([*words, "--config", config])
        shown = capsys.readouterr()
        return code, shown.out, shown.err

    return go


@pytest.mark.parametrize("time", ["0001-01-01", "9999-12-31T23:59:59-12:00", "0001-01-01T00:00:00+14:00"])
@pytest.mark.parametrize("words", [("tanks", "--at"), ("history", "--since"), ("texts", "--since")])
def test_a_time_that_cannot_be_reckoned_with(run, words, time):
    """No other zone could show it."""
    code, out, err = run(*words, time)
    assert (code, out) == (2, "") and "right would be" in err


@pytest.mark.parametrize("more", [(), ("--figures",), ("--csv",), ("--json",)])
def test_the_history_of_a_tank_that_is_not(run, more):
    """That nothing happened to it would be said of a slip of the pen."""
    code, out, err = run("history", "--tank", "huose", *more)
    assert (code, out) == (1, "") and err == (
        "tank-gateway: there is no tank 'huose'; there are: spring (Spring tank), house (House tank)\n"
    )


def test_the_history_of_a_tank_that_was(run, tmp_path):
    """What happened to a tank that was taken out of the configuration is still shown; of one that is, that nothing did."""
    store = open_store(f"sqlite:///{tmp_path}/gateway.db", "Quandong Ridge")
    with store.write() as tx:
        tx.keep_event(Event(kind="low", at=NOW, heard_at=NOW, known_at=NOW, tank="old"))
    store.close()
    assert "low" in run("history", "--tank", "old")[1]
    assert run("history", "--tank", "house")[1] == "Nothing of that kind has happened.\n"


def test_moments_in_the_history_are_local(run, tmp_path):
    """What a person reads is the site's own time, also within a detail."""
    store = open_store(f"sqlite:///{tmp_path}/gateway.db", "Quandong Ridge")
    with store.write() as tx:
        detail = {"since": "2026-02-28T13:05:00+00:00", "never": False}
        tx.keep_event(Event(kind="silent", at=NOW, heard_at=NOW, known_at=NOW, controller="ridge", detail=detail))
    store.close()
    shown = " ".join(run("history")[1].split())
    assert "since 2026-03-01 00:05" in shown and "+00:00" not in shown


@pytest.mark.parametrize("name", ["gateway.toml", "gateway.db", "pipe", "folder", ""])
def test_a_page_never_replaces_what_the_gateway_lives_on(run, tmp_path, name):
    """Not the configuration, not the store; nor (for root) a device."""
    assert run("note", "cleaned the intake")[0] == 0
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "folder").mkdir()
    code, _, err = run("page", name)
    assert code == 1 and ("right would be" in err or "another name" in err)
    assert "cleaned the intake" in run("history")[1] and (tmp_path / "pipe").is_fifo()
    assert run("page", "page.html")[0] == run("page", "page.html")[0] == 0


@pytest.mark.parametrize(
    "words", [("explain", " "), ("explain", "", "--json"), ("forget", ""), ("simulate", "LINE 1 MADE", "--from", " ")]
)
def test_nothing_where_something_is_needed(run, words):
    """An empty shell variable, most likely."""
    code, out, err = run(*words)
    assert (code, out) == (2, "") and "right would be" in err


def test_what_is_said_back_is_harmless(run, tmp_path):
    """A remark or a sample that would move the cursor or turn the line round."""
    hostile = "a\x1b[31m\x9b2J\u202eb"
    assert run("note", hostile)[1] == "Kept: a\\x1b[31m\\x9b2J\\u202eb\n"
    (tmp_path / "samples.txt").write_text(
        f"input 1 active\t{hostile} MADE\ninput 1 idle\t{hostile} BROKE\nalive\t{hostile} MADE\n"
    )
    _, out, err = run("suggest", "samples.txt")
    assert not {"\x1b", "\x9b", "\u202e"} & set(out + err)


def test_a_simulated_text_as_json(run, tmp_path, monkeypatch):
    """One document on standard output, as with every command."""
    monkeypatch.setattr("gateway.commands.simulate.inject", lambda *_: None)
    code, out, _ = run("simulate", "LINE 1 MADE", "--from", "0491 570 006", "--json")
    assert code == 0 and json.loads(out) == {"from": "0491 570 006", "text": "LINE 1 MADE"}


@pytest.mark.parametrize("more", [(), ("--json",)])
def test_doctor_names_what_is_wrong_on_standard_error(run, more):
    """One line each, as every command that ends with 1; here no daemon runs, and there is no such contact."""
    code, _, err = run("doctor", "--text", "nobody", *more)
    named = [line.split(":")[1].strip() for line in err.splitlines()]
    assert (
        code == 1
        and "daemon" in named
        and len(named) == 2
        and all(line.startswith("wrong: ") for line in err.splitlines())
    )


def test_a_rehearsal_that_stops_names_its_step(tmp_path, capsys, monkeypatch):
    """The step it came to, on standard error."""
    monkeypatch.setattr("gateway.commands.rehearse.STORY", (STORY[0], replace(STORY[1], messages=9)))
    monkeypatch.setattr("gateway.commands.rehearse.YEAR_BEFORE_DAYS", 2)
    assert main(["rehearse", "--fast", "--json", "--folder", str(tmp_path / "told")]) == 1
    shown = capsys.readouterr()
    told = json.loads(shown.out)["told"]
    assert shown.err.startswith(f"tank-gateway: step {told + 1} did not go") and len(shown.err.splitlines()) == 1


def test_a_make_that_is_none_is_refused_with_those_there_are(tmp_path, capsys):
    """Wherever it can be chosen, and only where the modem is a simulated one; the help names them all."""
    assert ", ".join(MAKES) == MODEM_MAKES
    file = write_config(tmp_path)
    for command in (["rehearse"], ["rehearse", "--days", "1", "--config", str(file)]):
        assert main([*command, "--modem", "shiny"]) == 2
        assert "no such make; there are plain, empty-quotes" in capsys.readouterr().err
    with pytest.raises(UsageWrong, match="no such make"):
        habits_of_simulated("shiny", load(str(file)).settings)
    assert habits_of_simulated("chatters", load(str(file)).settings) == MAKES["chatters"]
    file.write_text(file.read_text().replace('"simulated"', f'"{tmp_path}/none"'))
    with pytest.raises(GatewayError, match='is not "simulated"'):
        habits_of_simulated("chatters", load(str(file)).settings)


@pytest.mark.parametrize(
    ("raw", "said"), [("LINE 1 MADE\n" + "A" * 2001, ":2: 2001 characters"), ("a\0b\n", " is no text file")]
)
def test_suggest_refuses_what_is_no_file_of_samples(run, tmp_path, raw, said):
    """A log of a megabyte in one line, a database: it would look for rules in them for hours."""
    (tmp_path / "samples.txt").write_text(raw)
    code, out, err = run("suggest", "samples.txt")
    assert (code, out) == (1, "") and err.startswith(f"tank-gateway: samples.txt{said}") and "right would be" in err


@pytest.mark.parametrize("many", [40_000, 300_000])
def test_a_text_that_no_network_brings_is_said(run, many):
    """It was said to be on its way, or that no gateway runs."""
    code, out, err = run("simulate", "x" * many, "--from", "0491 570 006")
    assert (code, out) == (1, "") and err.startswith("tank-gateway: no network brings that: the text needs")
