"""The journal tells a person what happened: one plain line a matter, names and no numbers; the machine's own story only at debug."""

import io
import logging
import re
from contextlib import redirect_stdout
from datetime import timedelta

import pytest

from gateway.__main__ import main
from gateway.facts import Event
from gateway.service import journal, journal_lines
from gateway.service.journal_lines import masked
from tests.fakes.fake_modem import refused
from tests.faults.board import UNLIMITED, Board
from tests.household import RIDGE, STRANGER, WREN

MINUTE = timedelta(minutes=1)


@pytest.fixture
def home(tmp_path, caplog):
    """A board at work; `caplog` hears what a person would."""
    caplog.set_level("INFO", "gateway")
    made = Board(tmp_path, rest=UNLIMITED)
    made.start()
    yield made
    made.cut()


def lines(caplog):
    """What was said since this was asked last."""
    said = [record.getMessage() for record in caplog.records if record.name == "gateway"]
    caplog.clear()
    return said


def test_a_low_tank_from_its_text_to_who_was_told(home, caplog):
    """The text, what it means, and each message once it is known to have arrived; nothing of memories, slots and jobs."""
    assert [record.getMessage() for record in caplog.get_records("setup")] == ["The gateway started"]
    home.hears(RIDGE, "LINE 1 MADE 0717")
    home.pass_time(MINUTE)
    (event,) = lines(caplog)
    assert event == "Ridge box: LINE 1 MADE 0717 → House tank went low"
    for number, job in enumerate(home.modem.jobs, 1):
        home.modem.report(job.number, number)
    home.settle()
    home.pass_time(MINUTE)
    told = lines(caplog)
    assert [line.split(":")[0] for line in told] == ["told Wren (delivered 14", "told Robin (delivered 14"]
    assert all("House tank" in line for line in told)
    home.pass_time(timedelta(hours=1))
    assert lines(caplog) == []


@pytest.mark.parametrize(
    ("line", "passed_s", "said"),
    [
        ("", 60, []),
        ("", 150, ["told Wren (sent 14:00)", "told Robin (sent 14:00)"]),
        ("delivery_reports = false", 60, ["told Wren (sent 14:0", "told Robin (sent 14:0"]),
    ],
)
def test_a_message_without_a_report(tmp_path, caplog, line, passed_s, said):
    """Told as sent: at once where no report is asked for, else after two minutes."""
    caplog.set_level("INFO", "gateway")
    home = Board(tmp_path, line=line, rest=UNLIMITED)
    home.start()
    home.hears(RIDGE, "LINE 1 MADE 0717")
    home.pass_time(timedelta(seconds=passed_s))
    told = [line for line in lines(caplog) if line.startswith("told")]
    assert [text[: len(want)] for text, want in zip(told, said, strict=True)] == said
    home.cut()


def test_a_message_that_is_given_up(home, caplog):
    """In capitals: nobody may read over it."""
    home.modem.usual = refused(1)
    home.hears(RIDGE, "LINE 1 MADE 0717")
    home.pass_time(timedelta(days=2), at_least_s=30)
    said = "\n".join(lines(caplog))
    assert "NOT told Wren, given up: House tank" in said and "told Wren (" not in said


def test_a_tank_that_is_told_of_again_is_not_well(home, caplog):
    """A float that says low once more, and mains that are gone still, are no news, and no good ones."""
    for text in ("LINE 1 MADE 0717", "MAINS GONE", "LINE 1 MADE 0733", "MAINS GONE", "STATION WELL 4"):
        home.hears(RIDGE, text)
        home.pass_time(11 * MINUTE)
    said = [line.partition(" → ")[2] for line in lines(caplog) if line.startswith("Ridge box:")]
    assert said[0] == "House tank went low" and said[2] == "Ridge box says the same of House tank as before"
    assert said[3] == "Ridge box says the same as before" and said[4] == "Ridge box says that it is well"


def test_a_float_that_has_to_hold(tmp_path, caplog):
    """Until then it is only told of."""
    caplog.set_level("INFO", "gateway")
    home = Board(tmp_path, float='settle = "5m"', rest=UNLIMITED)
    home.start()
    home.hears(RIDGE, "LINE 1 MADE 0717")
    home.pass_time(MINUTE)
    assert lines(caplog)[-1].endswith("→ Ridge box tells of House tank what counts once it has held")
    home.cut()


def test_a_gauge_that_is_not_believed_says_why_in_words(tmp_path, caplog):
    """In the journal and in the history; `jump` is a program's word."""
    caplog.set_level("INFO", "gateway")
    rule = '[[controllers.rules]]\ntext = "DEPTH {level} %"\nmeans = "level"\ninput = "9"\n'
    gauge = (
        '[[tanks]]\nid = "hill"\nname = "Hill tank"\nshape = { kind = "litres", litres = 2000, height_m = 2.0 }\n'
        '  [[tanks.gauges]]\n  controller = "ridge"\n  input = 9\n  low_m = 0.4\n'
    )
    made = Board(tmp_path, rest=UNLIMITED + gauge, controller=rule)
    made.start()
    made.hears(RIDGE, "DEPTH 70 %")
    made.pass_time(MINUTE)
    made.hears(RIDGE, "DEPTH 10 %")
    assert "Ridge box: DEPTH 10 % → Hill tank: its gauge cannot be believed (it moved faster than any pipe)" in lines(
        caplog
    )
    made.cut()
    said = io.StringIO()
    with redirect_stdout(said):
        assert main(["history", "--config", str(made.config)]) == 0
    assert "(why: it moved faster than any pipe)" in said.getvalue()


def test_who_wrote_is_not_told_by_number(home, caplog):
    """Nor a number that stands in a text, however it is written; a note once."""
    home.hears(WREN, "NOTE ring 0491 570 158 or +61491570159")
    home.hears(STRANGER, "HELLO")
    home.hears(RIDGE, "WHAT IS 0491570157")
    home.pass_time(MINUTE)
    said = "\n".join(lines(caplog))
    assert "ring …158 or …159" in said and said.count("ring") == 1 and "…157" in said
    assert not re.search(r"491 ?570", said)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("0491 570 156", "…156"),
        ("+61491570156.", "…156."),
        ("02 5550 1234, then", "…234, then"),
        ("LINE 1 MADE 0717", "LINE 1 MADE 0717"),
        ("12.6 V 2026-03-01 04:11", "12.6 V 2026-03-01 04:11"),
        ("4821", "4821"),
    ],
)
def test_numbers_are_masked(text, shown):
    """Times, volts and codes are none."""
    assert masked(text) == shown


def test_a_configuration_that_is_refused(home, caplog):
    """What is wrong with it, at once."""
    home.config.write_text(home.config.read_text().replace("people = 4", "poeple = 4"))
    home.daemon.tell("reload")
    home.settle()
    home.pass_time(MINUTE)
    assert any("demand.poeple" in line for line in lines(caplog))


def test_many_at_once_are_not_told_one_by_one(home, caplog, monkeypatch):
    """An import of years says what it did itself."""
    monkeypatch.setattr(journal_lines, "AT_ONCE", 3)
    lines(caplog)
    now = home.clock.now()
    with home.store.write() as tx:
        for number in range(9):
            tx.keep_event(Event(kind="note", at=now, heard_at=now, known_at=now, text=str(number)))
    home.pass_time(MINUTE)
    said = lines(caplog)
    assert len(said) == 4 and said[-1] == "more was stored at once: tank-gateway history"
    home.pass_time(MINUTE)
    assert lines(caplog) == []


def test_what_was_before_the_start_is_not_told_again(home, caplog):
    """A restart tells of itself alone."""
    home.hears(RIDGE, "LINE 1 MADE 0717")
    home.pass_time(MINUTE)
    home.cut()
    lines(caplog)
    home.start()
    said = lines(caplog)
    assert said and not any("low" in line for line in said)


def test_the_machines_own_story_is_told_at_debug_and_when_it_is_asked_for(home, caplog, monkeypatch):
    """By an environment variable, as tests and whoever looks for a fault ask."""
    home.hears(RIDGE, "STATION WELL 1")
    assert "action=" not in "\n".join(lines(caplog))
    caplog.set_level("DEBUG", "gateway")
    home.hears(RIDGE, "STATION WELL 2")
    assert any(line.startswith("action=stored memory=SM") for line in lines(caplog))
    for asked, level in (("1", logging.DEBUG), ("", logging.NOTSET)):
        monkeypatch.setattr(journal.log, "level", logging.NOTSET)
        monkeypatch.setenv(journal.DEBUG_VARIABLE, asked)
        journal.write_to_stderr()
        assert journal.log.level == level
