"""A household lived through by the real gateway on a virtual clock: the same seed gives the same days, and the account is the store's."""

import json
import os
import signal
import subprocess
import sys
import tempfile
from functools import partial

import pytest

from gateway.__main__ import main
from gateway.commands.rehearse_household import toml_value
from gateway.errors import GatewayError
from gateway.rehearsal.account import DrySpell
from gateway.settings.load import load
from tests.simulator.test_household_water import CONFIGURATION, START

DAYS = 24


def words(folder, *more, seed=5, days=DAYS, store="real.db"):
    """What a household would say to the command."""
    file = folder / "household.toml"
    file.write_text(CONFIGURATION + f'\n[store]\nurl = "sqlite:///{folder}/{store}"\n', "utf-8")
    return ["rehearse", "--config", str(file), "--days", str(days), "--seed", str(seed), *more]


def rehearse(folder, *more, hash_seed="0", **how):
    """The command in a process of its own."""
    environment = {**os.environ, "PYTHONHASHSEED": hash_seed}
    command = [sys.executable, "-m", "gateway", *words(folder, *more, **how)]
    return subprocess.run(command, capture_output=True, text=True, timeout=300, env=environment)


def said(capsys, arguments):
    """The command within this process: its exit code, and what it says on standard error."""
    try:
        code = main(arguments)
    except SystemExit as ended:  # argparse's own refusals
        code = ended.code
    return code, capsys.readouterr().err


def look(config, command):
    """What a command says of the store that a life left, as JSON."""
    ended = subprocess.run(
        [sys.executable, "-m", "gateway", command, "--config", config, "--json"], capture_output=True, text=True
    )
    return json.loads(ended.stdout)


@pytest.fixture(scope="module")
def lives(tmp_path_factory):
    """Two lives by the same seed, in which the pump stops."""
    documents = []
    for name, hash_seed in (("first", "1"), ("again", "2")):
        folder = tmp_path_factory.mktemp(name)
        options = ("--with", "pump-stops", "--folder", str(folder / "life"), "--json")
        ended = rehearse(folder, *options, hash_seed=hash_seed)
        assert ended.returncode == 0, ended.stderr
        assert not (folder / "real.db").exists(), "the household's own store is never touched"
        documents.append((ended.stdout, str(folder / "life" / "gateway.toml")))
    return documents


def test_the_same_seed_gives_the_same_document_to_the_letter(lives):
    """In another folder, and in a process that orders its sets otherwise."""
    (first, _), (again, _) = lives
    assert first == again and json.loads(first)["events"]["low"] >= 2


def test_what_happens_has_its_own_hours(lives):
    """The texts of a life are spread over its days, though it took seconds."""
    texts = look(lives[0][1], "texts")["texts"]
    days = {text["at"][:10] for text in texts if text["way"] == "in"}
    assert len(days) >= DAYS - 4


def test_a_life_is_told_in_words(tmp_path):
    """What a household decides by, and where to look further."""
    ended = rehearse(tmp_path, days=3)
    assert ended.returncode == 0, ended.stderr
    assert "3 days lived through, seed 5." in ended.stdout and "The taps never ran dry." in ended.stdout
    assert "history --config" in ended.stdout


@pytest.mark.parametrize(
    ("more", "what"),
    [
        (("--with", "flood"), "no such story; there are dry-spell"),
        (("--with", "leak,flood"), "--with flood"),
        (("--clock", "late"), "no such trouble of a clock; there are steps"),
        (("--days", "0"), "expected more than 0"),
        (("--days", "-1"), "--days"),
        (("--days", "nan"), "--days"),
        (("--days", "1e9"), "at most"),
        (("--days", "soon"), "--days"),
        (("--seed", "x"), "--seed"),
        (("--seed", "1.5"), "--seed"),
    ],
)
def test_wrong_words_are_said(tmp_path, capsys, more, what):
    """Wrong usage ends with 2 and what would be right; nothing is left behind."""
    code, error = said(capsys, words(tmp_path, *more, "--folder", str(tmp_path / "life")))
    assert code == 2 and what in error
    assert not (tmp_path / "life").exists()


def test_trouble_without_days_is_no_story(capsys):
    """What goes wrong is said of a household lived through."""
    code, error = said(capsys, ["rehearse", "--with", "leak"])
    assert code == 2 and "--days" in error


@pytest.mark.parametrize("name", ["gateway.toml", "gateway.db", "page.html"])
def test_nothing_is_written_over(tmp_path, capsys, name):
    """What lies in the folder stays as it is, and that it is there is said: it may be the household's own."""
    (tmp_path / "life").mkdir()
    (tmp_path / "life" / name).write_text("ours")
    code, error = said(capsys, words(tmp_path, "--folder", str(tmp_path / "life")))
    assert code == 1 and f"{name} is there already" in error
    assert (tmp_path / "life" / name).read_text() == "ours" and len(list((tmp_path / "life").iterdir())) == 1


def test_the_households_own_store_is_not_begun(tmp_path, capsys):
    """A household that was configured and never served has no store yet: a life must not become it."""
    code, error = said(capsys, words(tmp_path, "--folder", str(tmp_path), store="gateway.db"))
    assert code == 1 and "own store" in error and not (tmp_path / "gateway.db").exists()


def test_the_households_own_store_is_left_to_the_octet(tmp_path, capsys):
    """Also where it is there, and damaged."""
    (tmp_path / "real.db").write_bytes(b"no database")
    assert said(capsys, words(tmp_path, "--folder", str(tmp_path / "life"), days=1))[0] == 0
    assert (tmp_path / "real.db").read_bytes() == b"no database"


def test_a_folder_that_is_a_file_is_said(tmp_path, capsys):
    """By its name."""
    (tmp_path / "life").write_text("ours")
    code, error = said(capsys, words(tmp_path, "--folder", str(tmp_path / "life")))
    assert code == 1 and str(tmp_path / "life") in error


def test_a_temporary_folder_goes_where_nothing_came_of_it(tmp_path, capsys, monkeypatch):
    """And is named where it is kept on purpose."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "temporary"))
    (tmp_path / "temporary").mkdir()
    monkeypatch.setattr("gateway.commands.rehearse_household.live_through", partial(_raise, GatewayError("invented")))
    assert said(capsys, words(tmp_path, days=1))[0] == 1
    assert not list((tmp_path / "temporary").iterdir())
    monkeypatch.undo()
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "temporary"))
    code, error = said(capsys, words(tmp_path, "--json", days=1))
    (kept,) = (tmp_path / "temporary").iterdir()
    assert code == 0 and str(kept / "gateway.toml") in error


def test_ctrl_c_ends_it_with_what_there_is(tmp_path, capsys, monkeypatch):
    """The account is of the days that were lived; the next Ctrl-C is anybody's again."""
    before = signal.getsignal(signal.SIGINT)

    def interrupt(shown, share):
        if share > 0.01:
            signal.raise_signal(signal.SIGINT)

    monkeypatch.setattr("gateway.commands.rehearse_household.Progress.__call__", interrupt)
    assert main(words(tmp_path, "--folder", str(tmp_path / "life"), "--json", days=300)) == 0
    account = json.loads(capsys.readouterr().out)
    assert 3 <= account["days"] < 300 and account["events"]["gateway-stopped"] == 1
    assert signal.getsignal(signal.SIGINT) is before


def _raise(error, *arguments, **named):
    raise error


def test_a_configuration_with_a_mistake_is_not_lived_through(tmp_path, capsys):
    """Each mistake with its line, also one in a rule, as `check` says it."""
    file = tmp_path / "wrong.toml"
    file.write_text(CONFIGURATION.replace("{state}", "{stat}").replace("people = 4", "peopl = 4"), "utf-8")
    code, error = said(capsys, ["rehearse", "--config", str(file), "--days", "1"])
    assert code == 1 and "peopl" in error and "stat" in error


def test_the_configuration_it_leaves_is_the_household(lives, tmp_path):
    """But for the modem and the store, it says what the file said."""
    original = tmp_path / "original.toml"
    original.write_text(CONFIGURATION, "utf-8")
    ours, theirs = load(str(original)).settings, load(lives[0][1]).settings
    assert theirs.model_copy(update={"store": ours.store}).model_dump() == ours.model_dump()


@pytest.mark.parametrize(
    ("value", "written"),
    [(True, "true"), (1.5, "1.5"), ('say "so" \\ ', '"say \\"so\\" \\\\ "'), ([1, {"a": "b"}], '[1, { "a" = "b" }]')],
)
def test_values_are_written_as_toml(value, written):
    """Each on one line."""
    assert toml_value(value) == written


def test_a_dry_spell_nobody_was_told_of_has_no_margin():
    """Unknown is unknown, not nought."""
    assert DrySpell(began=START, until=None, told_at=None).margin_h is None


def test_the_make_of_its_modem_changes_nothing(tmp_path, capsys):
    """The same days, whatever habits the modem has: those that change the dialogue the most."""
    accounts = {}
    for make in ("plain", "bare-headers", "chatters", "calls-without-ok", "phase-2"):
        assert main(words(tmp_path, "--with", "pump-stops", "--json", "--modem", make, days=3)) == 0
        accounts[make] = json.loads(capsys.readouterr().out)
    assert accounts["plain"]["texts_in"] and all(account == accounts["plain"] for account in accounts.values())
