"""`phrases`: what would leave, in the household's own names."""

import json

import pytest

from gateway.__main__ import main
from gateway.phrases import languages
from tests.household import write_config


def shown(folder, capsys, *arguments, code=0, **parts):
    """What it prints."""
    assert main(["phrases", *arguments, "--config", str(write_config(folder, **parts))]) == code
    said = capsys.readouterr()
    return said.out if code == 0 else said.err


def test_one_message(tmp_path, capsys):
    """The house tank, the first contact, and what it takes."""
    text = shown(tmp_path, capsys, "--kind", "low")
    assert text.startswith("said.low (1 segment)\n  House tank LOW since") and "Spring" not in text
    assert max(map(len, text.splitlines())) <= 80
    assert "Wren" in shown(tmp_path, capsys, "--kind", "taken")


@pytest.mark.parametrize("language", languages())
def test_every_message_of_each_language(tmp_path, capsys, language):
    """All of them, each with the segments that it takes; by voice too."""
    messages = json.loads(shown(tmp_path, capsys, "--json", "--language", language))["messages"]
    spoken = json.loads(shown(tmp_path, capsys, "--json", "--language", language, "--voice"))["messages"]
    assert len(messages) > 60 and [message["phrase"] for message in messages] == [phrase["phrase"] for phrase in spoken]
    assert all(message["segments"] >= 1 and message["text"] and "{" not in message["text"] for message in messages)


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (["--kind", "lowe"], "did you mean 'low'?"),
        (["--kind", "second-cal"], "did you mean 'second-call'?"),
        (["--kind", "qqqqqq"], "there are: low, low-over"),
        (["--language", "xx"], "de, en, es, uk"),
    ],
)
def test_what_there_is_not(tmp_path, capsys, arguments, named):
    """Names what there is."""
    assert named in shown(tmp_path, capsys, *arguments, code=2)
