"""A household lived through by the real gateway on a virtual clock: the same seed gives the same days, and the account is the store's."""

import json
import subprocess
import sys
from collections import Counter

import pytest

from gateway.commands.rehearse_household import toml_value
from gateway.rehearsal.account import DrySpell
from gateway.settings.load import load
from tests.simulator.test_household_water import CONFIGURATION, START

DAYS = 24


def rehearse(folder, *more, seed=5, days=DAYS):
    """The command as a household gives it."""
    file = folder / "household.toml"
    file.write_text(CONFIGURATION + f'\n[store]\nurl = "sqlite:///{folder}/real.db"\n', "utf-8")
    command = [
        sys.executable,
        "-m",
        "gateway",
        "rehearse",
        "--config",
        str(file),
        "--days",
        str(days),
        "--seed",
        str(seed),
    ]
    return subprocess.run([*command, *more], capture_output=True, text=True, timeout=300)


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
    for name in ("first", "again"):
        folder = tmp_path_factory.mktemp(name)
        ended = rehearse(folder, "--with", "pump-stops", "--folder", str(folder / "life"), "--json")
        assert ended.returncode == 0, ended.stderr
        assert not (folder / "real.db").exists(), "the household's own store is never touched"
        documents.append(json.loads(ended.stdout))
    return documents


def test_the_same_seed_gives_the_same_document_to_the_letter(lives):
    """But for where it was left."""
    first, again = ({key: value for key, value in life.items() if key != "config"} for life in lives)
    assert json.dumps(first) == json.dumps(again)


def test_the_account_is_what_the_store_holds(lives):
    """Texts, low tanks, kinds of event and messages by person, counted anew from `texts` and `history`."""
    life = lives[0]
    texts, events = look(life["config"], "texts")["texts"], look(life["config"], "history")["events"]
    assert life["texts_in"] == sum(text["way"] == "in" for text in texts) > DAYS // 2
    assert life["events"] == Counter(event["kind"] for event in events)
    assert life["low_spells"] == life["events"]["low"] >= 2
    told = Counter(text["contact"] for text in texts if text["way"] == "out" and text["state"] == "delivered")
    for person in life["messages"]:
        assert person["urgent"] + person["soon"] + person["record"] == told[person["contact"]]


def test_what_happens_has_its_own_hours(lives):
    """The texts of a life are spread over its days, though it took seconds."""
    texts = look(lives[0]["config"], "texts")["texts"]
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
    [(("--with", "flood"), "no such story"), (("--days", "0"), "expected more than 0"), (("--days", "-1"), "--days")],
)
def test_wrong_words_are_said(tmp_path, more, what):
    """Wrong usage ends with 2 and what would be right."""
    ended = rehearse(tmp_path, *more)
    assert ended.returncode == 2 and what in ended.stderr, ended.stderr


def test_the_configuration_it_leaves_is_the_household(lives, tmp_path):
    """But for the modem and the store, it says what the file said."""
    original = tmp_path / "original.toml"
    original.write_text(CONFIGURATION, "utf-8")
    ours, theirs = load(str(original)).settings, load(lives[0]["config"]).settings
    assert theirs.model_copy(update={"store": ours.store}) == ours


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
