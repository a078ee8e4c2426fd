"""Copied chats → the texts alone, whichever way a phone writes times and names in front."""

from dataclasses import replace

import pytest

from gateway.suggest.samples import Sample, parse_label, read_samples
from gateway.suggest.suggest_rules import suggest_from, suggest_rules
from tests.suggest.test_suggest import book_of

TEXTS = ["LINE 1 MADE", "LINE 1 BROKE 12.5V", "LINE 2: MADE", "DAILY OK", "LINE 2 BROKE 12.4V"]
LABELS = ["input 1 active", "input 1 idle", "input 2 active", "alive", "input 2 idle"]
SHAPES = [
    "[12/03/2026, 07:14:09] {name}: {text}",
    "\u200e[12/03/2026, 07:14:09] {name}: {text}",
    "12.03.26, 07:14 - {name}: {text}",
    "3/12/26, 7:14\u202fAM - {name}: {text}",
    "3/12/26 7:14 a. m. - {name}: {text}",
    "[3/12/26, 7:14:09 PM] {name}: {text}",
    "2026-03-12 07:14:09 {name}: {text}",
    "[2026-03-12 07:14] {name}: {text}",
    "2026-03-12T07:14:09+11:00 {name}: {text}",
    "2026/3/12 7:14 - {name}: {text}",
    "{name} [12.03.26 07:14] {text}",
    "{name}, [12.03.26 07:14]:\n{text}",
    "{name} (12 Mar 2026, 07:14): {text}",
    "12. März 2026 um 07:14 - {name}: {text}",
    "12.3.2026 klo 7.14 - {name}: {text}",
    "Thu, 12 Mar, 7:14 am - {name}: {text}",
    "Mar 12, 2026, 7:14 AM - {name}: {text}",
    "12/03/2026 07:14 | {name} | {text}",
    "{name}\t12/03/2026 07:14\t{text}",
    "12/03/2026, 07:14:\n{name}: {text}",
    "{name}\n12/03/2026 07:14\n{text}",
    "From {name} 12/03/2026 07:14: {text}",
    "07:14 {name}: {text}",
    "Today 07:14 {name}: {text}",
    "<{name}> 07:14 {text}",
    "[07:14] <{name}> {text}",
    "[07:14] {text}",
    "12/03/26 07:14 {text}",
    "{name}: {text}",
]


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("name", ["Ridge box", "Ridge", "+61 491 570 006"])
def test_what_stands_in_front_is_taken_off(shape: str, name: str) -> None:
    """Dates in either order, AM and PM, names as words or numbers, in one line or above the text."""
    if shape == "{name}: {text}" and name == "Ridge":
        name = "Ridge tank"
    at = [shape.replace("07:14", f"{hour:02d}:14").replace("7:14", f"{hour}:14") for hour in range(7, 12)]
    chat = "\n".join(front.format(name=name, text=text) for front, text in zip(at, TEXTS, strict=True))
    sample_file = read_samples(chat.split("\n"))
    assert [sample.text for sample in sample_file.samples] == TEXTS
    labelled = [Sample(text, parse_label(label)) for text, label in zip(TEXTS, LABELS, strict=True)]
    book = book_of(suggest_from(replace(sample_file, samples=tuple(labelled))))
    assert book.read("LINE 3 BROKE 12.1V").readings[0].input == "3"


CHAT = """12.03.26, 07:10 - Messages are kept on this phone.
12.03.26, 07:14 - Ridge box: TANK A LOW
BAT 87%
12.03.26, 07:20 - Wren: on my way
12.03.26, 09:14 - Ridge box: TANK A OK

BAT 86%
13.03.26, 07:14 - Ridge box: TANK B LOW
BAT 85%
13.03.26, 08:00 - Ridge box: DAILY REPORT
BAT 85%
13.03.26, 08:01 - Ridge box: <Media omitted>
14.03.26, 07:14 - Ridge box: TANK B OK
BAT 83%"""


def test_only_the_box_is_listened_to() -> None:
    """Texts over several lines are joined; people, and what the phone says itself, are left out, people with a note."""
    sample_file = read_samples(CHAT.split("\n"))
    assert [sample.text for sample in sample_file.samples] == [
        "TANK A LOW BAT 87%",
        "TANK A OK BAT 86%",
        "TANK B LOW BAT 85%",
        "DAILY REPORT BAT 85%",
        "TANK B OK BAT 83%",
    ]
    assert len(sample_file.odd) == 1 and "'Wren'" in sample_file.odd[0] and not sample_file.opening


@pytest.mark.parametrize(
    "lines",
    [
        ["LINE 1: MADE", "LINE 2: BROKE", "LINE 1: BROKE"],
        ["12.6V LINE 1 MADE", "12.4V LINE 1 BROKE"],
        ["1:H", "2:L", "3:H", "1:L"],
        ["FRONT 1 MADE", "MARCH 1 BROKE", "MAY 4 BROKE"],
    ],
)
def test_texts_that_are_no_chat_stay_as_they_are(lines: list[str]) -> None:
    """An input with a colon is no name, a voltage no date."""
    assert [sample.text for sample in read_samples(lines).samples] == lines


def test_labels_may_stand_before_the_lines_of_a_chat() -> None:
    """The front is taken off, and the rule reads the text as the box sends it."""
    lines = [
        "input 1 active\t[12/03/2026, 07:14] Ridge box: LINE 1 MADE",
        "input 1 idle\t[12/03/2026, 08:14] Ridge box: LINE 1 BROKE",
        "input 2 active\t[13/03/2026, 07:14] Ridge box: LINE 2 MADE",
    ]
    reading = book_of(suggest_rules(lines)).read("LINE 3 BROKE").readings[0]
    assert (reading.input, reading.state) == ("3", "idle")


def test_a_colon_in_few_of_the_texts_names_no_sender() -> None:
    """Two of six have what looks like a name behind the time: nothing is left out, and it stays in the text."""
    texts = ["LINE 1 MADE", "LINE 1 BROKE", "LINE 2 MADE", "LINE 2 BROKE", "LID: OPEN", "LID: SHUT"]
    lines = [f"12/03/2026 07:1{minute} {text}" for minute, text in enumerate(texts)]
    assert [sample.text for sample in read_samples(lines).samples] == texts


def test_names_that_differ_from_text_to_text_are_no_senders() -> None:
    """A time and a word with a colon: the word is a part of the text where no sender has nearly all of them."""
    texts = ["GATE: OPEN", "LID: OPEN", "GATE: SHUT", "PUMP: SHUT"]
    lines = [f"07:1{minute} {text}" for minute, text in enumerate(texts)]
    assert [sample.text for sample in read_samples(lines).samples] == texts
