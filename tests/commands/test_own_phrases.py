"""A household's own phrase file: what it says stands in place of ours, and each mistake in it is told with its line."""

import json

import pytest

from gateway.__main__ import main
from tests.household import write_config

SHORT = "[said.low]\nhead = "


def own_file(folder, text):
    """The configuration that names it."""
    own = folder / "phrases.toml"
    own.write_text(text, "utf-8")
    config = write_config(folder)
    config.write_text(f'phrases = "{own}"\n{config.read_text("utf-8")}', "utf-8")
    return own, config


def test_one_phrase_said_otherwise(tmp_path, capsys):
    """Its other parts and all other phrases stay ours; under [site] as well as above all tables."""
    own, config = own_file(
        tmp_path, '[said.low]\nhead = "{tank} runs short {since:since}."\n[words]\ndry = ["BONEDRY", "DRY"]\n'
    )
    other = write_config(tmp_path / "other" if (tmp_path / "other").mkdir() is None else tmp_path)
    other.write_text(other.read_text("utf-8").replace("[site]", f'[site]\nphrases = "{own}"'), "utf-8")
    for file in (config, other):
        assert main(["phrases", "--json", "--config", str(file)]) == 0
        said = {message["phrase"]: message["text"] for message in json.loads(capsys.readouterr().out)["messages"]}
        assert said["said.low"].startswith("House tank runs short since") and "Reply OK" in said["said.low"]
        assert "is no longer low" in said["said.low-over"] and "BONEDRY=" in said["answer.unknown"]
        assert main(["check", "--config", str(file)]) == 0
        capsys.readouterr()


def told_by(capsys):
    """All that was printed, unfolded."""
    output = capsys.readouterr()
    return " ".join((output.out + output.err).split())


@pytest.mark.parametrize(
    ("text", "line", "told"),
    [
        (f'\n{SHORT}"{{tnk}} low."\n', 3, '{tnk} is filled in by nothing here; did you mean "tank"?'),
        ('[said.low-ovr]\nhead = "x"\n', 1, 'is no phrase of ours; did you mean "low-over"?'),
        ('[sayd]\nlow = "x"\n', 1, 'is no table of ours; did you mean "said"?'),
        ('[said.low]\nhaed = "x"\n', 2, 'is no part of a message of ours; did you mean "head"?'),
        (f"{SHORT}3\n", 2, "is no sentence"),
        ('[said.low]\nmore = "x"\n', 2, "is no list of sentences"),
        ('[said]\nlow = "x"\n', 2, "is no message"),
        (f'{SHORT}"{{tank}} low {{since:sinse}}."\n', 2, "'sinse' is no role of a time; did you mean \"since\"?"),
        (f'{SHORT}"{{tank low"\n', 2, "has a brace that belongs to no field"),
        ('[said.low]\nmore = ["{advice}"]\n', 2, "does not say how to answer; one of {take}"),
        ('[said.low]\nmore = ["{take}", "{tnk}"]\n', 2, "{tnk} is filled in by nothing here"),
        (
            '[said.ran-dry]\nmore = ["{take}"]\n',
            2,
            'has 0 pieces that begin with "!", which keep people from harm, and ours has 2',
        ),
        ("[words]\nok = 3\n", 2, "is no list of words"),
        ("[label]\nlow = 3\n", 2, "is no sentence"),
        ("[label]\nlow =\n", 0, "is no TOML"),
    ],
)
def test_each_mistake_with_its_line(tmp_path, capsys, text, line, told):
    """Unknown tables, phrases, parts and fields; what is lost that keeps people from harm; `check` refuses it."""
    own, config = own_file(tmp_path, text)
    assert main(["check", "--config", str(config)]) == 1
    said = told_by(capsys)
    assert told in said
    assert f"{own}:{line}:" in said if line else "phrases: is no TOML" in said


def test_a_sentence_for_the_ear_where_ours_has_none_holds(tmp_path, capsys):
    """What keeps people from harm is said by the pieces that stay ours."""
    _, config = own_file(tmp_path, '[said.float-fault]\nspoken = "{tank}: its float rattles."\n')
    assert main(["check", "--config", str(config)]) == 0, told_by(capsys)


def test_a_file_that_is_no_text_is_told_without_codes(tmp_path, capsys):
    """A picture, or a phrase file saved by an office program."""
    own, config = own_file(tmp_path, "")
    own.write_bytes(b"\xff\xfe\x00")
    assert main(["check", "--config", str(config)]) == 1
    assert "phrases: cannot be read: it is no plain text (UTF-8)" in told_by(capsys)


def test_a_long_phrase_is_a_note_and_a_file_that_is_not_there_a_mistake(tmp_path, capsys):
    """What costs a further segment is told; nothing is said in place of a file that cannot be read."""
    own, config = own_file(tmp_path, f'{SHORT}"{{tank}} {"is low " * 20}."\n')
    assert main(["check", "--config", str(config)]) == 0
    assert f"{own}:1: note: said.low: takes 2 segments" in told_by(capsys)
    own.unlink()
    assert main(["check", "--config", str(config)]) == 1
    assert "phrases: cannot be read" in told_by(capsys)


def test_what_a_native_reader_has_still_to_judge_is_not_hidden(tmp_path, capsys):
    """`check` and `phrases` name it."""
    config = str(write_config(tmp_path, language="de"))
    assert main(["check", "--config", config]) == 0
    assert "no native reader has judged yet: said.low" in told_by(capsys)
    assert main(["phrases", "--kind", "low", "--config", config]) == 0
    assert "a native reader has still to judge: Wohl" in told_by(capsys)
    own = tmp_path / "own.toml"
    own.write_text('[said.low]\nhead = "{tank} niedrig {since:since}."\n', "utf-8")
    config = write_config(tmp_path, language="de")
    config.write_text(f'phrases = "{own}"\n{config.read_text("utf-8")}', "utf-8")
    assert main(["check", "--config", str(config)]) == 0
    assert "no native reader has judged yet: said.ran-dry" in told_by(capsys)
