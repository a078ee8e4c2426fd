"""The command line in words: help of every command, and what is said of one that was mistyped."""

import shlex

import pytest

from gateway import __version__
from gateway.__main__ import main
from gateway.commands.argument_parser import command_line, parse
from gateway.commands.command_words import WORDS

COMMANDS = tuple(command_line()[1].choices)


def said(capsys, *words):
    """(exit code, output, what was said to be wrong) of a command line that ends as it is parsed."""
    with pytest.raises(SystemExit) as ended:
        main(list(words))
    shown = capsys.readouterr()
    return ended.value.code, shown.out, shown.err


def test_every_command_stands_in_the_table_of_words_and_no_other():
    """The table is what help and manual page are made of: gateway/commands/command_words.py."""
    assert set(WORDS) == set(COMMANDS)


@pytest.mark.parametrize("command", COMMANDS)
def test_help_has_a_sentence_an_example_and_what_is_read_and_written(capsys, command):
    """Of each command, by `help COMMAND` as by `COMMAND --help`."""
    code, out, err = said(capsys, "help", command)
    assert (code, err) == (0, "") and out == said(capsys, command, "--help")[1]
    words = WORDS[command]
    flat = " ".join(out.split())
    assert " ".join(words.does.split()) in flat and words.example in out
    assert f"reads: {words.reads}" in flat and f"writes: {words.writes}" in flat


@pytest.mark.parametrize("command", COMMANDS)
def test_the_example_of_a_command_can_be_typed(command):
    """Up to where the shell would lead its output elsewhere."""
    program, *words = shlex.split(WORDS[command].example.partition(" > ")[0])
    assert program == "tank-gateway" and parse(words).command == command


def test_which_version(capsys):
    """One line."""
    assert said(capsys, "--version") == (0, f"tank-gateway {__version__}\n", "")


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        (("tnaks",), 'did you mean "tanks"?'),
        (("--verison",), 'did you mean "--version"?'),
        (("--config", "my.toml", "check"), "no option '--config' before the command"),
        (("History",), 'did you mean "history"?'),
        (("help", "backupp"), 'did you mean "backup"?'),
        (("history", "--sinse", "7d"), 'did you mean "--since"?'),
        (("history", "--sinse=7d"), 'did you mean "--since"?'),
        (("note", "cleaned", "the", "intake"), "put the text in quotes"),
        (("explain", "LINE", "1", "MADE", "--from", "0491 570 006"), "put the text in quotes"),
        (("page", "a.html", "b.html"), "'b.html' is a word too many; right would be: tank-gateway page tanks.html"),
        (("note",), 'right would be: tank-gateway note "cleaned the intake"'),
        ((), "right would be: tank-gateway help"),
        (("qqqqqqqqqq",), "right would be: tank-gateway help"),
    ],
)
def test_a_slip_is_told_in_one_line_with_what_would_be_right(capsys, words, meant):
    """Exit code 2, and nothing on standard output."""
    code, out, err = said(capsys, *words)
    assert (code, out) == (2, "") and meant in err and len(err.splitlines()) == 1


def test_a_configuration_that_only_root_may_read(tmp_path, capsys, monkeypatch):
    """As the installed one is, without sudo."""

    def refused(*_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("pathlib.Path.read_bytes", refused)
    assert main(["check", "--config", str(tmp_path / "gateway.toml")]) == 1
    assert "try sudo" in capsys.readouterr().err
