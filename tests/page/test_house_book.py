"""The house book: what somebody who takes over must know, without what is secret."""

import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from gateway.__main__ import main
from gateway.facts.states.people import AdoptedNumber, WatchGiven
from gateway.handlers.event_followers import record_event
from gateway.page import make_house_book
from tests.handlers.days import Days
from tests.household import write_config

OLD = """received_at,sender,text
2026-11-01T01:00:00+11:00,0491 570 006,LINE 1 MADE 0100
2026-11-01T06:00:00+11:00,0491 570 006,LINE 1 BROKE 0600
"""
REST = """
[bleed]
taps = ["laundry", "kitchen"]
[[sims]]
id = "own"
name = "The gateway's card"
expires = "2027-06-30"
[[watch]]
contact = "wren"
days = ["saturday", "sunday"]
from = "08:00"
[source]
pump = { kind = "ram", drive_flow_l_min = 30, fall_m = 3, lift_m = 25 }
"""


@pytest.fixture
def book(tmp_path, capsys):
    """book(change) → the page's text."""

    def made(*change):
        config = write_config(tmp_path, rest=REST, controller='ask = { text = "*OPEN SESAME#" }')
        text = config.read_text().replace('country = "AU"', 'country = "AU"\nnotes = "Valve <A> behind the shed"', 1)
        config.write_text(text.replace(*change, 1) if change else text)
        (tmp_path / "old.csv").write_text(OLD)
        assert main(["import", str(tmp_path / "old.csv"), "--config", str(config)]) == 0
        assert main(["house-book", str(tmp_path / "book.html"), "--config", str(config)]) == 0, capsys.readouterr().err
        return (tmp_path / "book.html").read_text("utf-8")

    return made


@pytest.mark.parametrize(
    "stands",
    [
        "1800 l; fed by the source; low float at 0.4 m above the outlet",
        "5655 l; fed by Spring tank; low float at 0.45 m above the outlet",
        "Ridge box, input 1",
        "30 l/min drive it over a fall of 3 m; it lifts 25 m.",
        "If it beats and nothing comes up: its delivery valve, or no air in its chamber.",
        "Ridge box texts from 0491 570 006.",
        "laundry, kitchen",
        "saturday, sunday, 08:00 to 24:00",
        "Valve &lt;A&gt; behind the shed",
        "Wren",
        "0491 570 156",
        "The gateway&#39;s card",
        "30 Jun 2027",
        "takes what you were told of",
        "low 1 ×, 5 h at most",
        "Boil the water or do not drink it",
        "local health authority",
        "tank-gateway restore",
    ],
)
def test_what_one_must_know_stands_there(book, stands):
    """Sizes, inputs, source, taps, valves, people, cards, words, the last year, cautions, how to bring it back."""
    assert stands in book()


def test_secrets_are_left_out(book):
    """What makes the box answer is one; the rest of the configuration stands there."""
    page = book()
    assert "SESAME" not in page and "(secret)" in page and "controllers[ridge].ask.text" in page


def test_it_loads_nothing_and_holds_no_script(book):
    """One file, for ever."""
    page = book()
    assert "<script" not in page and "http://" not in page and "https://" not in page and "src=" not in page


def test_what_is_no_page_is_left_as_it_is(book, tmp_path, capsys):
    """As with `page`: another file needs --force; our own is replaced."""
    book()
    config = ["--config", str(tmp_path / "gateway.toml")]
    assert main(["house-book", str(tmp_path / "book.html"), *config]) == 0
    (tmp_path / "letter.txt").write_text("dear all")
    assert main(["house-book", str(tmp_path / "letter.txt"), *config]) == 1
    assert "no house book of ours" in capsys.readouterr().err and (tmp_path / "letter.txt").read_text() == "dear all"


def test_without_a_record_the_missing_path_is_named(tmp_path):
    """Nothing is made by looking."""
    config = write_config(tmp_path)
    done = subprocess.run(
        [sys.executable, "-m", "gateway", "house-book", str(tmp_path / "book.html"), "--config", str(config)],
        capture_output=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 1 and str(tmp_path / "gateway.db").encode() in done.stderr
    assert not (tmp_path / "book.html").exists() and not (tmp_path / "gateway.db").exists()


NOW = datetime(2026, 11, 25, 1, 0, tzinfo=UTC)
CARDS = """
[[watch]]
contact = "wren"
[[sims]]
id = "ridge-sim"
name = "The box's card"
use_every = "180d"
[[sims]]
id = "own"
name = "The gateway's card"
expires = "2027-06-30"
"""


@pytest.mark.parametrize(
    ("state", "subject", "stands"),
    [
        (
            WatchGiven(contact="robin", by="wren", since=NOW, until=NOW + timedelta(days=4)),
            "",
            [("Robin", "just now, by word, until Sun 29 Nov 2026")],
        ),
        (
            WatchGiven(contact="robin", by=None, since=NOW, until=None),
            "",
            [("Robin", "just now, by word, until further notice")],
        ),
        (
            AdoptedNumber(of="controller", whose="ridge", by="wren", at=NOW),
            "+61491570159",
            [("Ridge box texts from 0491 570 159, 0491 570 006.", None)],
        ),
        (
            AdoptedNumber(of="contact", whose="robin", by="wren", at=NOW, instead_of="+61491570157"),
            "+61491570159",
            [("Robin", "0491 570 159; turn 1")],
        ),
    ],
)
def test_what_holds_just_now(tmp_path, state, subject, stands):
    """Who has the watch by word, and whose new numbers count; of each card what is known of its end, and the tests that were made."""
    days = Days(tmp_path, rest=CARDS)

    def kept(unit):
        unit.tx.set_state(state, subject)
        record_event(unit, unit.event("walk-passed"))
        record_event(unit, unit.event("drill-missed"))
        unit.tx.keep_event(replace(unit.event("ran-dry", {"who": "Wren"}), tank="house"))

    days.at(NOW, kept)
    with days.store.read() as reader:
        page = make_house_book(reader, days.site, NOW)
    days.store.close()
    told = [
        ("The box&#39;s card", "no end of it is known"),
        ("The gateway&#39;s card", "is good until Wed 30 Jun 2027"),
    ]
    tests = [
        ("Wed 25 Nov 2026", "test after fitting: passed"),
        ("Wed 25 Nov 2026", "test of the chain to the people: NOT passed"),
    ]
    year = [("House tank", "dry taps 1 ×</td>"), ("Spring tank", "nothing</td>")]
    for name, what in [*year, *stands, *told, *tests, ("Wren", "every day, 00:00 to 24:00")]:
        assert (name if what is None else f'<th scope="row">{name}</th><td>{what}') in page, name
