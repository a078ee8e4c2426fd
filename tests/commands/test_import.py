"""`import` of files that are not as they should be: each line that is not taken is named, and the rest goes in."""

import json

import pytest

from gateway.__main__ import main
from tests.household import write_config

GOOD = "2026-01-02,0491 570 006,ZONE 1 OPEN\n"


@pytest.fixture
def take(tmp_path, capsys):
    """take(lines) → (exit code, what was said to be wrong, the texts in the store)."""
    config = ["--config", str(write_config(tmp_path))]

    def go(lines, headings="received_at,sender,text\n"):
        file = tmp_path / "old.csv"
        file.write_text(headings + lines, "utf-8", newline="")
        code = main(["import", str(file), *config])
        mistakes = capsys.readouterr().err.replace(str(tmp_path), "").splitlines()
        assert main(["texts", "--json", *config]) == 0
        texts = [text["text"] for text in json.loads(capsys.readouterr().out)["texts"]]
        for command in (["history"], ["tanks"], ["page", str(tmp_path / "page.html")]):
            assert main([*command, *config]) == 0
        capsys.readouterr()
        return code, mistakes, texts

    return go


@pytest.mark.parametrize(
    ("line", "mistake"),
    [
        ("0001-01-01,0491 570 006,ZONE 2 OPEN\n", ":2: 0001-01-01 is before there were texts"),
        ("1969-12-31T23:59:59Z,0491 570 006,ZONE 2 OPEN\n", ":2: 1969-12-31T23:59:59Z is before there were texts"),
        ("9999-12-31,0491 570 006,ZONE 2 OPEN\n", ":2: 9999-12-31 is in the future"),
        ("2026-01-01,0491 570 006,FLT 07, AUX LID\n", ":2: there are more columns than headings"),
        ('2026-01-01,0491 570 006,"ZONE 2" OPEN\n', ":2: ',' expected after '\"'"),
        (f'2026-01-01,0491 570 006,"{"a" * 200_000}"\n', ":2: field larger than field limit"),
    ],
)
def test_a_line_that_is_not_taken_is_named(take, line, mistake):
    """A year that no other zone can show, a text that lost its quotes, one without an end: nothing goes in by halves."""
    code, mistakes, texts = take(line + GOOD)
    assert code == 1 and len(mistakes) == 1 and mistakes[0].startswith(f"/old.csv{mistake}")
    assert "right would be" in mistakes[0] and texts == ["ZONE 1 OPEN"]


def test_a_quote_left_open_is_named(take):
    """What stands behind it was never seen as lines, so that is said."""
    code, mistakes, texts = take(f'{GOOD}2026-01-03,0491 570 006,"ZONE 2 OPEN\n2026-01-04,0491 570 006,ZONE 2 SHUT\n')
    assert code == 1 and len(mistakes) == 1 and "is a quote left open" in mistakes[0] and texts == ["ZONE 1 OPEN"]


@pytest.mark.parametrize("line", ["", "2026-01-01,0491 570 006,ZONE 2 OPEN,,\n", '2026-01-01,x,"a\nb"\n'])
def test_what_spreadsheets_write_is_taken(take, line):
    """Empty columns at the end, and a text of two lines."""
    code, mistakes, texts = take(line + GOOD)
    assert (code, mistakes) == (0, []) and texts[-1] == "ZONE 1 OPEN"


def test_headings_that_are_none_are_shown_harmless_and_short(tmp_path, capsys):
    """A file that is no table at all."""
    file = tmp_path / "old.csv"
    file.write_bytes(b"\x1b[31m" + bytes(range(32, 127)) * 400)
    assert main(["import", str(file), "--config", str(write_config(tmp_path))]) == 1
    shown = capsys.readouterr().err
    assert "\x1b" not in shown and len(shown) < 600 and "right would be" in shown
