"""`import` of files that are not as they should be: each line that is not taken is named, and the rest goes in."""

import json
import sys

import pytest

from gateway.__main__ import main
from tests.household import write_config

GOOD = "2026-01-02,0491 570 006,LINE 1 MADE\n"


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


@pytest.mark.parametrize(("lines", "shown"), [(1200, "42% imported\r 83% imported\r100% imported"), (3, "")])
def test_how_far_a_long_import_is_stands_in_the_terminal(tmp_path, capsys, monkeypatch, lines, shown):
    """One of years takes minutes on a board; a short one has nothing to say."""
    file = tmp_path / "old.csv"
    rows = "".join(f"2026-01-02 {row // 60:02}:{row % 60:02},0491 570 006,SUPPLY 12.6 V\n" for row in range(lines))
    file.write_text(f"received_at,sender,text\n{rows}", "utf-8")
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    assert main(["import", str(file), "--config", str(write_config(tmp_path))]) == 0
    assert capsys.readouterr().err.strip() == shown


@pytest.mark.parametrize(
    ("line", "mistake"),
    [
        ("0001-01-01,0491 570 006,LINE 2 MADE\n", ":2: 0001-01-01 is before there were texts"),
        ("1969-12-31T23:59:59Z,0491 570 006,LINE 2 MADE\n", ":2: 1969-12-31T23:59:59Z is before there were texts"),
        ("9999-12-31,0491 570 006,LINE 2 MADE\n", ":2: 9999-12-31 is in the future"),
        ("2026-01-01,0491 570 006,FLT 07, AUX LID\n", ":2: there are more columns than headings"),
        ('2026-01-01,0491 570 006,"LINE 2" MADE\n', ":2: ',' expected after '\"'"),
        (f'2026-01-01,0491 570 006,"{"a" * 200_000}"\n', ":2: field larger than field limit"),
    ],
)
def test_a_line_that_is_not_taken_is_named(take, line, mistake):
    """A year that no other zone can show, a text that lost its quotes, one without an end: nothing goes in by halves."""
    code, mistakes, texts = take(line + GOOD)
    assert code == 1 and len(mistakes) == 1 and mistakes[0].startswith(f"/old.csv{mistake}")
    assert "right would be" in mistakes[0] and texts == ["LINE 1 MADE"]


def test_a_quote_left_open_is_named(take):
    """What stands behind it was never seen as lines, so that is said."""
    code, mistakes, texts = take(f'{GOOD}2026-01-03,0491 570 006,"LINE 2 MADE\n2026-01-04,0491 570 006,LINE 2 BROKE\n')
    assert code == 1 and len(mistakes) == 1 and "is a quote left open" in mistakes[0] and texts == ["LINE 1 MADE"]


@pytest.mark.parametrize("line", ["", "2026-01-01,0491 570 006,LINE 2 MADE,,\n", '2026-01-01,x,"a\nb"\n'])
def test_what_spreadsheets_write_is_taken(take, line):
    """Empty columns at the end, and a text of two lines."""
    code, mistakes, texts = take(line + GOOD)
    assert (code, mistakes) == (0, []) and texts[-1] == "LINE 1 MADE"


def test_headings_that_are_none_are_shown_harmless_and_short(tmp_path, capsys):
    """A file that is no table at all."""
    file = tmp_path / "old.csv"
    file.write_bytes(b"\x1b[31m" + bytes(range(32, 127)) * 400)
    assert main(["import", str(file), "--config", str(write_config(tmp_path))]) == 1
    shown = capsys.readouterr().err
    assert "\x1b" not in shown and len(shown) < 600 and "right would be" in shown


CHAT = """[12/03/2026, 07:14:09] Ridge box: LINE 1 MADE 0714
[12/03/2026, 09:02:00] Wren: on my way
[13/03/2026, 06:00:10] Ridge box: LINE 1 BROKE 0600
"""
UNDER_DAYS = """Thursday, 12 March 2026
07:14 Ridge box: LINE 1 MADE 0714
Friday, 13 March 2026
06:00 Ridge box: LINE 1 BROKE 0600
"""
SPREADSHEET = """Datum;Absender;Nachricht
12.03.2026 07:14;0491 570 006;LINE 1 MADE 0714
13.03.2026 06:00;0491 570 006;LINE 1 BROKE 0600
"""
NUMBERS_ALONE = """07:14 12/03/2026 LINE 1 MADE 0714
06:00 13/03/2026 LINE 1 BROKE 0600
"""


@pytest.mark.parametrize(
    ("content", "more"),
    [(CHAT, []), (UNDER_DAYS, []), (SPREADSHEET, []), (NUMBERS_ALONE, ["--from", "ridge box"])],
    ids=["chat", "days in lines of their own", "a table with other headings", "no sender"],
)
def test_a_past_in_any_form_is_taken(tmp_path, capsys, content, more):
    """A household's only past may be a chat: its times and its box's name are enough, and people in it are left out."""
    config = ["--config", str(write_config(tmp_path))]
    file = tmp_path / "old.txt"
    file.write_text(content, "utf-8")
    assert main(["import", str(file), *more, *config]) == 0, capsys.readouterr().err
    capsys.readouterr()
    assert main(["history", "--json", *config]) == 0
    events = json.loads(capsys.readouterr().out)["events"]
    assert [(event["kind"], event["at"][:16], event["sender"]) for event in events] == [
        ("low", "2026-03-12T07:14", "+61491570006"),
        ("low-over", "2026-03-13T06:00", "+61491570006"),
    ]


AMBIGUOUS = "received_at,sender,text\n03/04/2026 07:14,0491 570 006,LINE 1 MADE 0714\n"


@pytest.mark.parametrize(("order", "at"), [("day-first", "2026-04-03"), ("month-first", "2026-03-04")])
def test_a_date_that_may_be_read_in_two_ways_is_asked_about(tmp_path, capsys, order, at):
    """Nothing goes in before somebody said which."""
    config = ["--config", str(write_config(tmp_path))]
    file = tmp_path / "old.csv"
    file.write_text(AMBIGUOUS)
    assert main(["import", str(file), *config]) == 1
    assert "'03/04/2026 07:14' may be day-month or month-day" in capsys.readouterr().err
    assert main(["import", str(file), "--dates", order, *config]) == 0
    capsys.readouterr()
    assert main(["history", "--json", *config]) == 0
    assert json.loads(capsys.readouterr().out)["events"][0]["at"].startswith(at)


def test_a_name_in_a_chat_that_nobody_has_is_asked_about(tmp_path, capsys):
    """What a phone's owner calls the box is no sender."""
    config = ["--config", str(write_config(tmp_path))]
    file = tmp_path / "old.txt"
    file.write_text(CHAT.replace("Ridge box", "Pump alarm"))
    assert main(["import", str(file), *config]) == 1
    assert "'Pump alarm' is no name of the configuration: say --from" in capsys.readouterr().err
    assert main(["import", str(file), "--from", "ridge", *config]) == 0


@pytest.mark.parametrize("content", ["LINE 1 MADE\nLINE 1 BROKE\n", ""])
def test_texts_without_times_are_no_past(tmp_path, capsys, content):
    """Named with what the first line is."""
    config = ["--config", str(write_config(tmp_path))]
    file = tmp_path / "old.txt"
    file.write_text(content)
    assert main(["import", str(file), *config]) == 1
    assert ":1: no times and no headings are found" in capsys.readouterr().err


def test_what_contacts_told_of_the_house_is_history_and_what_they_asked_is_not(take, tmp_path, capsys):
    """By today's words: dry taps, their end and a remark, each at its time; a question is none, nothing is answered, nothing stands."""
    lines = "".join(
        f"2026-01-0{day},0491 570 156,{text}\n"
        for day, text in enumerate(("DRY", "DRY?", "SAFE", "NOTE cleaned the intake", "NEXT", "NOTE"), start=1)
    )
    assert take(lines)[0] == 0
    config = ["--config", str(tmp_path / "gateway.toml"), "--json"]
    assert main(["history", *config]) == 0
    events = json.loads(capsys.readouterr().out)["events"]
    assert [(event["kind"], event["at"][:10], event["detail"].get("said")) for event in events] == [
        ("ran-dry", "2026-01-01", None),
        ("taps-safe", "2026-01-03", None),
        ("note", "2026-01-04", "cleaned the intake"),
    ]
    assert main(["alarms", *config]) == 0 and json.loads(capsys.readouterr().out)["alarms"] == []
    assert main(["texts", *config]) == 0
    assert all(text["way"] == "in" for text in json.loads(capsys.readouterr().out)["texts"])


IN_A_CHAT = """
[12/03/2026, 07:14] Ridge box: LINE 1 MADE 0714
[12/03/2026, 07:20] Robin: who looks after it?

[13/03/2099, 06:00] Ridge box: LINE 1 MADE 0714
[14/03/2026, 06:00] Ridge box: LINE 1 BROKE 0601
"""
BELOW_ITS_DAY = """Thursday, 12 March 2026
07:14 Ridge box: LINE 1 MADE 0714

Friday, 13 March 2099

06:00 Ridge box: LINE 1 BROKE 0600
"""
OVER_TWO_LINES = """[12/03/2026, 07:14] Ridge box: LINE 1 MADE
0714 AND MORE
[13/03/2026, 06:00] Ridge box: LINE 1 BROKE
0600
[13/03/2099, 06:00] Ridge box: LINE 1 BROKE
0600
"""


@pytest.mark.parametrize(
    ("content", "line"),
    [
        (IN_A_CHAT, 5),
        (BELOW_ITS_DAY, 6),
        (OVER_TWO_LINES, 5),
        ("\n\n" + UNDER_DAYS.replace("13 March 2026", "13 March 2099"), 6),
    ],
)
def test_a_mistake_in_a_chat_is_named_with_the_line_of_the_file(tmp_path, capsys, content, line):
    """As an editor counts them: also empty lines, people's lines and days of their own."""
    file = tmp_path / "old.txt"
    file.write_text(content, "utf-8")
    assert main(["import", str(file), "--config", str(write_config(tmp_path))]) == 1
    (said,) = capsys.readouterr().err.splitlines()
    assert said.startswith(f"{file}:{line}: ") and "2099" in said and "is in the future" in said
