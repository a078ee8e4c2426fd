"""The calendar: what stands in it, that it holds to RFC 5545 where the library is lenient, and that the same matter keeps its name."""

import csv
import json
import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import icalendar
import pytest

from gateway.__main__ import main
from gateway.clock import SystemClock
from gateway.facts.states.people import WatchGiven
from gateway.feeds.calendar_entries import CalendarEntry
from gateway.feeds.calendar_file import calendar_octets
from tests.faults.board import UNLIMITED, Board
from tests.household import RIDGE, write_config

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)
DAY, HOUR = timedelta(days=1), timedelta(hours=1)
PUBLISHED = "shared/published/icalendar_facts.csv"
FACTS = next((folder / PUBLISHED for folder in Path(__file__).resolve().parents if (folder / PUBLISHED).exists()), None)
MORE = """
[drill]
every = "90d"
[[sims]]
id = "ridge-sim"
name = "Ridge box's card"
expires = "2027-06-30"
use_every = "180d"
[[watch]]
contact = "robin"
days = ["saturday", "sunday"]
[[watch]]
contact = "wren"
days = ["monday"]
from = "08:00"
until = "18:00"
"""


@pytest.fixture
def home(tmp_path):
    """A board at work with something due of each sort."""
    made = Board(tmp_path, rest=MORE + UNLIMITED)
    made.start()
    yield made
    made.cut()


@pytest.fixture
def make(home, tmp_path, monkeypatch, capsys):
    """make() → the events of the calendar that the command writes, by what they say."""
    file = tmp_path / "tanks.ics"
    monkeypatch.setattr(SystemClock, "now", lambda _: home.clock.now())

    def made():
        assert main(["calendar", str(file), "--config", str(home.config)]) == 0
        capsys.readouterr()
        strict(file.read_bytes())
        return {
            str(event["SUMMARY"]): event for event in icalendar.Calendar.from_ical(file.read_bytes()).walk("VEVENT")
        }

    return made


def strict(octets):
    """What the standard demands and the library reads over; every line and every event."""
    assert octets.endswith(b"END:VCALENDAR\r\n") and b"\n" not in octets.replace(b"\r\n", b"")
    for line in octets.split(b"\r\n"):
        assert len(line) <= 75
        line.decode("utf-8")
    unfolded = octets.replace(b"\r\n ", b"").decode()
    assert unfolded.startswith("BEGIN:VCALENDAR\r\n") and "\r\nVERSION:2.0\r\n" in unfolded
    assert unfolded.count("PRODID:") == 1
    events = re.findall(r"BEGIN:VEVENT\r\n(.*?)END:VEVENT", unfolded, re.DOTALL)
    assert events
    for event in events:
        names = [re.split("[;:]", line)[0] for line in event.split("\r\n") if line]
        assert all(names.count(name) == 1 for name in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "SEQUENCE"))
        assert re.search(r"^DTSTAMP:\d{8}T\d{6}Z\r$", event, re.MULTILINE) and "TZID" not in event
    uids = re.findall(r"UID:(.*)\r\n", unfolded)
    assert len(uids) == len(set(uids))


def uids(events):
    """name → (UID, SEQUENCE, DTSTAMP)."""
    return {says: (str(event["UID"]), int(event["SEQUENCE"]), event["DTSTAMP"].dt) for says, event in events.items()}


def test_what_is_due_and_what_was(home, make):
    """Drill, both ends of a card, the turns of the watch, a tank that may be empty, and its low spell, past and present."""
    home.hears(RIDGE, "LINE 1 MADE 0717")
    home.pass_time(2 * HOUR)
    events = make()
    assert events["Test of the chain to the people: answer OK"]["DTSTART"].dt == datetime(
        2027, 2, 23, 23, 0, tzinfo=UTC
    )
    card = events["Ridge box's card is good until today"]
    assert (card["DTSTART"].dt, card["DTEND"].dt) == (date(2027, 6, 30), date(2027, 7, 1))
    assert events["Ridge box's card must send something by today"]["DTSTART"].dt == date(2027, 5, 24)
    low = events["House tank is low"]
    assert low["DTEND"].dt - low["DTSTART"].dt == 2 * HOUR
    empty = events["House tank may be empty"]
    assert empty["DTSTART"].dt > home.clock.now() and "with 80 % between" in str(empty["DESCRIPTION"])
    home.hears(RIDGE, "LINE 1 BROKE 0917")
    home.pass_time(HOUR)
    later = make()
    assert "House tank may be empty" not in later and "House tank is low" not in later
    assert later["House tank was low"]["DTEND"].dt - later["House tank was low"]["DTSTART"].dt == 2 * HOUR
    assert later["House tank was low"]["UID"] == low["UID"] and int(later["House tank was low"]["SEQUENCE"]) == 1


def test_turns_of_the_watch(home, make, tmp_path):
    """Two days that follow each other are one turn, on each of them the same; what was given by word goes before."""
    make()
    file = tmp_path / "tanks.ics"

    def turns():
        events = icalendar.Calendar.from_ical(file.read_bytes()).walk("VEVENT")
        return {
            str(event["UID"]): (str(event["SUMMARY"]).split()[0], event["DTSTART"].dt, event["DTEND"].dt)
            for event in events
            if "watch" in str(event["SUMMARY"])
        }

    found = sorted(turns().values(), key=lambda turn: turn[1])
    assert [who for who, _, _ in found] == ["Robin", "Wren"] * 4
    assert found[0][1:] == (datetime(2026, 11, 27, 13, tzinfo=UTC), datetime(2026, 11, 29, 13, tzinfo=UTC))
    assert found[1][2] - found[1][1] == 10 * HOUR
    first = next(uid for uid, turn in turns().items() if turn == found[0])
    home.pass_time(4 * DAY - 10 * HOUR, at_least_s=900)  # Sunday morning
    make()
    assert turns()[first] == found[0]
    until = home.clock.now() + 2 * DAY
    with home.store.write() as tx:
        tx.set_state(WatchGiven(contact="wren", by=None, since=home.clock.now(), until=until))
    make()
    by_word, *following = sorted(turns().values(), key=lambda turn: turn[1])
    assert by_word == ("Wren", home.clock.now(), until) and following[0][1] >= until


def test_the_same_matter_keeps_its_name_and_its_revision(home, make):
    """Made again: as it was, with its stamp; a new forecast is a change of the same; another low spell another matter."""
    home.hears(RIDGE, "LINE 1 MADE 0717")
    home.pass_time(HOUR)
    first = uids(make())
    again = uids(make())
    assert again == first
    home.pass_time(3 * HOUR)
    later = uids(make())
    name, revision, stamp = first["House tank may be empty"]
    assert later["House tank may be empty"][0] == name
    assert later["House tank is low"][1] == 1 and later["House tank is low"][2] > stamp and revision == 0
    unchanged = "Test of the chain to the people: answer OK"
    assert later[unchanged] == first[unchanged]
    home.hears(RIDGE, "LINE 1 BROKE 1200")
    home.pass_time(9 * HOUR)
    home.hears(RIDGE, "LINE 1 MADE 2100")
    home.pass_time(HOUR)
    assert uids(make())["House tank may be empty"][0] != name


def test_nothing_at_all_is_a_calendar_too(tmp_path, monkeypatch, capsys):
    """One without anything in it would be none."""
    board = Board(tmp_path)
    board.start()
    monkeypatch.setattr(SystemClock, "now", lambda _: NOW)
    file = tmp_path / "tanks.ics"
    assert main(["calendar", str(file), "--config", str(board.config), "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"file": str(file), "entries": 1}
    strict(file.read_bytes())
    assert b"Nothing is due" in file.read_bytes()
    board.cut()


def test_letters_lines_and_marks():
    """Long names in other letters are folded between them; commas, semicolons and backslashes are escaped, line ends made harmless."""
    says = "Überlauf; Haus, Tor \\ ж" * 9 + "\r\nBEGIN:VEVENT"
    entry = CalendarEntry(name="x", says=says, begins=NOW, ends=NOW + HOUR)
    octets = calendar_octets("Quandong, Ridge", [entry], NOW, None)
    strict(octets)
    (event,) = icalendar.Calendar.from_ical(octets).walk("VEVENT")
    assert str(event["SUMMARY"]) == says.replace("\r\n", " ")


@pytest.mark.parametrize("before", [b"", b"BEGIN:VCALENDAR", b"\xff\xfe", b"BEGIN:VEVENT\r\nUID:x\r\n"])
def test_a_file_before_that_is_no_calendar_is_no_reason_to_fail(before):
    """All of it is new then."""
    entry = CalendarEntry(name="x", says="x", begins=NOW, ends=NOW + HOUR)
    (event,) = icalendar.Calendar.from_ical(calendar_octets("R", [entry], NOW, before)).walk("VEVENT")
    assert int(event["SEQUENCE"]) == 0 and event["DTSTAMP"].dt == NOW


def test_another_file_is_left_as_it_is(home, tmp_path, capsys):
    """Unless it is said to be replaced; a link, the store and the configuration in no case."""
    config = ["--config", str(home.config)]
    other, link = tmp_path / "letter.txt", tmp_path / "link.ics"
    other.write_text("dear")
    link.symlink_to(other)
    for file, said in (
        (other, "no calendar of ours"),
        (link, "links are not followed"),
        (home.config, "configuration"),
    ):
        assert main(["calendar", str(file), *config]) == 1
        assert said in capsys.readouterr().err
    assert main(["calendar", str(tmp_path / "gateway.db"), "--force", *config]) == 1
    assert other.read_text() == "dear" and main(["calendar", str(other), "--force", *config]) == 0
    strict(other.read_bytes())


@pytest.mark.skipif(FACTS is None, reason="the published facts do not lie beside the project")
def test_the_published_facts_are_those_that_are_checked():
    """A fact that is added to the collection has to be looked at here."""
    items = [row["item"] for row in csv.DictReader(FACTS.open(encoding="utf-8"))]
    assert {"line length", "folding", "line ends", "VEVENT needs", "UID", "DTSTAMP", "DTEND", "text escapes"} <= set(
        items
    )
    assert len(items) == 15


def test_a_record_that_is_not_there_is_named(tmp_path, capsys):
    """Nothing is made by looking."""
    config = str(write_config(tmp_path))
    assert main(["calendar", str(tmp_path / "tanks.ics"), "--config", config]) == 1
    assert str(tmp_path) in capsys.readouterr().err and not (tmp_path / "tanks.ics").exists()
