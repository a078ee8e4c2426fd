"""`history` and `texts` in a terminal and in a pipe, at several widths; times as a person says them."""

import json
import os
import pty
import select
import sys
from datetime import UTC, datetime, timedelta

import pytest

from gateway.__main__ import main
from gateway.clock import SystemClock
from gateway.commands import doctor
from gateway.commands.doctor_findings import Finding
from gateway.commands.site_and_store import parse_moment
from gateway.commands.terminal_output import Progress, _most_columns, counted
from gateway.facts import Event
from gateway.settings.load import load
from gateway.site import compile_site
from gateway.storage import open_store
from tests.household import write_config

NOW = datetime(2026, 3, 3, 22, 30, tzinfo=UTC)  # Wednesday 09:30 in Sydney
LONG = "LINE 1 MADE 0717 " + "SUPPLY 12.6 V AND SO ON " * 6


@pytest.fixture
def household(tmp_path, capsys):
    """go("history", …) → the lines it prints; of 60 lows of the house tank."""
    config = str(write_config(tmp_path))
    store = open_store(f"sqlite:///{tmp_path}/gateway.db", "Quandong Ridge")
    with store.write() as tx:
        for number in range(60):
            at = NOW + timedelta(minutes=number)
            text = LONG if number % 2 else f"LINE 1 BROKE {number:04}"
            kind, detail = ("low", {}) if number % 2 else ("low-over", {"first": True, "never": False})
            tx.keep_event(Event(kind=kind, at=at, heard_at=at, known_at=at, tank="house", text=text, detail=detail))
    store.close()

    def go(*words):
        assert main([*words, "--config", config]) == 0
        return capsys.readouterr().out.splitlines()

    return go


def terminal(monkeypatch, columns, lines=24):
    """As if a terminal of that size looked on."""
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    monkeypatch.setenv("COLUMNS", str(columns))
    monkeypatch.setenv("LINES", str(lines))


@pytest.mark.parametrize("columns", [30, 50, 60, 80, 140, 200, 400])
@pytest.mark.parametrize("words", [("history",), ("history", "--since", "2026-01-01"), ("tanks",), ("doctor",)])
def test_a_table_fits_the_terminal(household, monkeypatch, capsys, columns, words):
    """From 50 to 200 columns, whatever the terminal has; where there is room a row is one line."""
    terminal(monkeypatch, columns)
    if words == ("doctor",):
        monkeypatch.setattr(doctor, "run", lambda arguments: _shown_findings())
    lines = household(*words)
    assert max(map(len, lines)) <= min(max(columns, 50), 200)


def _shown_findings():
    doctor._print(
        [Finding(what="modem", right=False, text="/dev/gateway-modem is not there " * 4, remedy="plug it in")]
    )
    return 0


@pytest.mark.parametrize("lines", [12, 24, 60])
def test_a_terminal_shows_the_last_that_fit_and_how_to_see_more(household, monkeypatch, lines):
    """The newest event stands there, and nothing has run off the top."""
    terminal(monkeypatch, 80, lines)
    shown = household("history")
    assert len(shown) < lines and shown[-1].startswith("Only the last ") and "history --last" in shown[-1]
    assert "10:29" in "\n".join(shown)


def test_a_pipe_gets_all_of_it_one_line_each(household, monkeypatch):
    """Each text whole, however long, and each row in a line of its own."""
    lines = household("history")
    assert len(lines) == 61 and LONG.strip() in lines[-1] and lines[1].startswith("2026-03-04 09:30  low-over")


def test_last_is_the_newest_so_many(household):
    """In every form."""
    assert len(household("history", "--last", "3")) == 4
    assert len(json.loads("\n".join(household("history", "--last", "3", "--json")))["events"]) == 3
    newest = json.loads("\n".join(household("history", "--json")))["events"]
    assert len(newest) == 60 and newest == sorted(newest, key=lambda event: event["at"])
    assert household("texts") == ["No text has come or gone yet."] == household("texts", "--last", "3")
    assert json.loads("\n".join(household("texts", "--json"))) == {"texts": []}


def test_the_history_is_told_in_sentences(household):
    """And not as the record keeps them: `first True`, `never False`."""
    told = "\n".join(household("history"))
    assert "House tank went low: LINE 1 MADE 0717" in told and "House tank is no longer low: LINE" in told
    assert "True" not in told and "False" not in told


@pytest.mark.parametrize(
    ("written", "right"),
    [
        ("07:00", "2026-03-04T07:00+11:00"),
        ("9:30", "2026-03-04T09:30+11:00"),
        ("09:31", "2026-03-03T09:31+11:00"),
        ("today", "2026-03-04T00:00+11:00"),
        ("Yesterday", "2026-03-03T00:00+11:00"),
        ("yesterday 18:15", "2026-03-03T18:15+11:00"),
        ("monday", "2026-03-02T00:00+11:00"),
        ("wednesday", "2026-02-25T00:00+11:00"),
        ("sunday 7:05", "2026-03-01T07:05+11:00"),
        ("2026-03-01", "2026-03-01T00:00+11:00"),
        ("7d", "2026-02-25T09:30+11:00"),
    ],
)
def test_a_time_as_a_person_says_it(tmp_path, monkeypatch, written, right):
    """It is past: a time of day still to come was yesterday's."""
    monkeypatch.setattr(SystemClock, "now", lambda _: NOW)
    site = compile_site(load(str(write_config(tmp_path))).settings)
    assert parse_moment(written, site) == datetime.fromisoformat(right)


@pytest.mark.parametrize("count", ["0", "-1", "many", "1.5", "9999999999999999999999"])
def test_a_number_of_rows_that_cannot_be(count, capsys):
    """Said with what would be right, exit code 2."""
    with pytest.raises(SystemExit) as ended:
        main(["history", "--last", count])
    assert ended.value.code == 2 and "such as 20" in capsys.readouterr().err


@pytest.mark.parametrize(("count", "said"), [(0, "0 texts"), (1, "1 text"), (2, "2 texts"), (12000, "12,000 texts")])
def test_one_of_a_thing_is_no_plural(count, said):
    """As a person writes it."""
    assert counted(count, "text") == said


@pytest.mark.parametrize(
    ("columns", "widths"),
    [
        (80, [10, 6, 16, 13, 5, 6]),
        (64, [10, 6, 14, 13, 5, 6]),
        (60, [10, 6, 11, 11, 5, 6]),
        (50, [8, 6, 8, 7, 5, 6]),
        (12, [1, 1, 1, 1, 1, 1]),
    ],
)
def test_no_word_is_broken_while_there_is_room(columns, widths):
    """A date in two halves is read wrongly; only where all of it is too much it is broken after all."""
    headings = ("controller", "state", "last heard", "may be silent", "volts", "signal")
    rows = [("Spur box", "silent", "2024-04-15 09:57", "1d 2h", "12.1", "-")]
    assert _most_columns(headings, rows, columns) == widths


def test_how_far_a_long_look_is_stands_in_one_line_of_a_terminal(monkeypatch):
    """A pseudo-terminal gets it written over at each further 2 %, and the line ends with the whole; a pipe gets nothing."""
    master, slave = pty.openpty()
    with os.fdopen(slave, "w") as terminal:
        monkeypatch.setattr(sys, "stderr", terminal)
        progress = Progress("read again")
        for share in (0.01, 0.25, 0.26, 0.5, 1.0, 1.0):
            progress(share)
        said = b""
        while (
            not said.endswith(b"\n") and select.select([master], [], [], 10)[0]
        ):  # the terminal hands it on piece by piece
            said += os.read(master, 200)
        said += os.read(master, 200) if select.select([master], [], [], 0)[0] else b""
        assert said.decode() == "\r 25% read again\r 50% read again\r100% read again\r\n"
    os.close(master)
    reading, writing = os.pipe()
    with os.fdopen(writing, "w") as pipe:
        monkeypatch.setattr(sys, "stderr", pipe)
        Progress("read again")(1.0)
    assert os.read(reading, 200) == b""
    os.close(reading)
