"""Rows 37 to 40 of the fault table: forged senders, characters that mean harm, automatic replies."""

import json
import random
import re
import unicodedata
from datetime import timedelta
from html.parser import HTMLParser

import pytest

from gateway.__main__ import main
from tests.faults.board import UNLIMITED, board
from tests.household import RIDGE, STRANGER, WREN

FORGED = "+61491570110"
HARMFUL = [chr(n) for n in (*range(0, 32), *range(127, 160), 0x061C, 0x200B, *range(0x200E, 0x2010))]
HARMFUL += [chr(n) for n in (*range(0x2028, 0x202F), *range(0x2066, 0x206A), 0xFEFF, 0xFFF9, 0xE0001)]
FORMULAS = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", '=HYPERLINK("x")']
MARKUP = ["<script>alert(1)</script>", "</td><img src=x onerror=alert(1)>", "&lt;", '" onload="x', "{{ 7*7 }}", "]]>"]


def test_row_37_forged_sender(tmp_path, seed, trials):
    """Words from strangers, from controllers and from who may not ask move nothing; a contact's words need its number."""
    rng = random.Random(seed)
    with board(tmp_path, robin="may_ask = false", rest=UNLIMITED) as home:
        home.hears(RIDGE, "LINE 1 MADE 0717")
        for number in range(trials(200)):
            home.clock.advance(timedelta(minutes=2))
            sender = rng.choice([STRANGER, FORGED, "QuandongCo", "2222", "+61491570157"])
            text = rng.choice(
                ["OK", "WORK house 4h", "DRY", "NOTE x", "TANKS", "LINE 1 BROKE 0717", f"LINE 2 MADE {number}"]
            )
            home.hears(sender, text)
        kinds = {event.kind for event in home.events()}
        assert not kinds & {"taken", "paused", "ran-dry", "note", "low-over"} and len(home.events("low")) == 1
        assert {job.number for job in home.modem.jobs} == {WREN, "+61491570157"}
        assert {text.state for text in home.texts("in")} == {"read", "stranger", "ignored"}


@pytest.fixture
def nasty(tmp_path, seed, trials, capsys):
    """A household that got hostile texts from everybody; the function runs a command and gives what it printed."""
    rng = random.Random(seed)
    with board(tmp_path, rest=UNLIMITED) as home:
        for _ in range(max(60, trials(10_000) // 20)):
            home.clock.advance(timedelta(minutes=2))
            pieces = [
                rng.choice(pool)
                for pool in rng.choices([HARMFUL, FORMULAS, MARKUP, ["LINE 9 "]], k=rng.randrange(1, 6))
            ]
            home.hears(rng.choice([RIDGE, STRANGER, WREN]), "".join(pieces)[:60])
        for said in FORMULAS + MARKUP:
            home.hears(WREN, f"NOTE {said}")

        def run(*arguments: str) -> str:
            assert main([*arguments, "--config", str(home.config)]) in (0, 1)
            return capsys.readouterr().out

        yield home, run


def test_row_38_nothing_harmful_is_shown(nasty, tmp_path):
    """Messages, tables, CSV, JSON and the page: no control or direction character, no formula, no markup."""
    home, run = nasty
    for text in home.arrived():
        assert not _harmful(text), repr(text)
    for command in ("history", "texts", "tanks"):
        assert not _harmful(run(command)), command
        assert not _harmful(json.dumps(json.loads(run(command, "--json")))), command
    import csv
    import io

    for row in csv.reader(io.StringIO(run("history", "--csv"))):
        assert not any(cell[:1] in ("=", "+", "-", "@", "\t", "\r") for cell in row if not _number(cell)), row
        assert not any(_harmful(cell) for cell in row)
    page = tmp_path / "page.html"
    run("page", str(page))
    html = page.read_text("utf-8")
    assert not _harmful(html)
    assert not Tags(html).wrong


class Tags(HTMLParser):
    """What of a page could do something: scripts, pictures, handlers."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.wrong: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag, attrs) -> None:
        """Notes what should not be there."""
        if tag in ("script", "img", "iframe", "object") or any(name.startswith("on") for name, _ in attrs):
            self.wrong.append(self.get_starttag_text() or tag)


def _harmful(said: str) -> list[str]:
    return [
        char for char in said if char not in "\n\r\t" and unicodedata.category(char) in ("Cc", "Cf", "Zl", "Zp", "Cs")
    ]


def _number(cell: str) -> bool:
    return bool(re.fullmatch(r"[+-]?\d+(\.\d+)?", cell))


REPLIES = {
    "the same words": lambda text, n: "I am away from my phone",
    "counted": lambda text, n: f"Automatic reply no. {n}",
    "quoting": lambda text, n: f"Re: {text}",
    "echo": lambda text, n: text,
    "OK": lambda text, n: "OK",
    "TANKS": lambda text, n: "TANKS",
    "DRY": lambda text, n: "DRY",
    "words in turn": lambda text, n: ("OK", "TANKS", "WEEK", "WORDS")[n % 4],
}


@pytest.mark.parametrize("reply", REPLIES, ids=list(REPLIES))
def test_row_40_an_automatic_reply_starts_no_loop(tmp_path, reply, seed, trials):
    """A contact's phone answers every message by itself, with whatever: it comes to rest within a few messages."""
    rng = random.Random(seed)
    for trial in range(max(1, trials(100) // len(REPLIES))):
        folder = tmp_path / str(trial)
        folder.mkdir()
        with board(folder, rest=UNLIMITED) as home:
            home.hears(RIDGE, "LINE 1 MADE 0717")
            answered = 0
            for _ in range(60):
                mine = home.arrived(WREN)
                if answered == len(mine):
                    break
                home.clock.advance(rng.uniform(1, 20))
                home.modem.deliver(WREN, REPLIES[reply](mine[answered], answered)[:150])
                answered += 1
                home.settle()
            assert answered == len(home.arrived(WREN)) <= 8, "it came to rest"
            assert home.events("low")
