"""Floats that no rule can set idle (or active) are named by `check`, `explain` and `suggest` alike."""

import json

import pytest

from gateway.__main__ import main
from gateway.commands.configuration_checks import EXTRA_CHECKS
from gateway.settings.load import load_text
from gateway.suggest.suggest_rules import suggest_rules
from tests.household import write_config

HOUSE, SPRING = "tanks[1].floats[0]", "tanks[0].floats[0]"


def notes_of(tmp_path, *changes, **parts):
    """key → what `check` says of it."""
    text = write_config(tmp_path, **parts).read_text()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return {warning.key: warning.wrong for warning in load_text(text, "gateway.toml", EXTRA_CHECKS).warnings}


@pytest.mark.parametrize(
    ("parts", "changes", "key", "words"),
    [
        ({"idle": ""}, (), f"{HOUSE}.input", "is idle: the end of its alarm is reckoned"),
        ({"idle": "", "float": 'over = "heard"'}, (), f"{HOUSE}.over", "would stand until somebody texts OVER house"),
        ({}, (('active = ["MADE"]', "active = []"),), f"{SPRING}.input", "nobody would ever be told that 'Spring tank' is low"),
        ({}, (('text = "LINE {input} {state} *"', 'text = "LINE {input} MADE *"\n  state = "active"'),), f"{HOUSE}.input", "is idle"),
    ],
)  # fmt: skip
def test_check_names_them(tmp_path, parts, changes, key, words):
    """As a note, with what follows."""
    assert words in notes_of(tmp_path, *changes, **parts).get(key, "")


@pytest.mark.parametrize(
    "parts", [{}, {"idle": "", "float": 'over = "reckoned"'}, {"idle": "", "float": 'over = "said"'}]
)
def test_check_says_nothing_where_it_is_heard_or_chosen(tmp_path, parts):
    """Somebody has thought of it."""
    assert not [wrong for wrong in notes_of(tmp_path, **parts).values() if "no rule of" in wrong]


@pytest.mark.parametrize(
    ("parts", "ends", "words"),
    [({}, "heard", None), ({"idle": ""}, "reckoned", "over by reckoning alone"), ({"float": 'over = "said"'}, "said", "texts OVER")],
)  # fmt: skip
def test_explain_says_how_it_ends(tmp_path, capsys, parts, ends, words):
    """In words where it is not heard, and in JSON."""
    config = ["--config", str(write_config(tmp_path, **parts))]
    assert main(["explain", "LINE 1 MADE now", *config]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert (words in said) if words else ("OVER" not in said and "reckoning" not in said)
    assert main(["explain", "LINE 1 MADE now", *config, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["readings"][0]["ends"] == ends


@pytest.mark.parametrize(
    ("lines", "noted"),
    [
        (["input 1 active\tTANK ONE LOW a", "input 1 active\tTANK ONE LOW b", "alive\tSTILL HERE"], "input 1 is idle"),
        (["input 1 idle\tTANK ONE FINE a", "input 1 idle\tTANK ONE FINE b", "alive\tSTILL HERE"], "input 1 is active"),
        (["input 1 active\tLINE 1 MADE a", "input 1 idle\tLINE 1 BROKE b"], None),
    ],
)
def test_suggest_names_them(lines, noted):
    """Among what is to be looked at."""
    notes = " ".join(note for note in suggest_rules(lines).notes if "no rule can say" in note)
    assert (noted in notes) if noted else notes == ""
