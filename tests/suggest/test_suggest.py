"""Sample texts → rules that read texts of the same box which were held out."""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gateway.facts import RuleRead
from gateway.rules.rule_checks import find_rule_problems
from gateway.rules.rulebook import Rulebook, compile_rulebook
from gateway.settings.controller_tables import RuleTable
from gateway.suggest.samples import Label
from gateway.suggest.suggest_rules import Suggestion, suggest_rules
from tests.suggest.dialects import dialect

CORPUS = Path(__file__).parent.parent / "corpus" / "quandong.txt"
DIALECTS = range(1000, 1050)


def meant(read: RuleRead) -> str:
    """A RuleRead as a label."""
    first = next(
        (reading for reading in read.readings if reading.rule == read.rule and reading.means != "reading"), None
    )
    if first is None:
        return "unread"
    return f"input {first.input} {first.state}" if first.means == "input" else first.means


def book_of(suggestion: Suggestion) -> Rulebook:
    """The rules as they come out of the TOML that a person pastes."""
    tables = tomllib.loads(suggestion.toml).get("controllers", {}).get("rules", [])
    rules = [RuleTable.model_validate(table) for table in tables]
    assert [rule.text for rule in rules] == [suggested.rule.text for suggested in suggestion.rules]
    assert [problem for rule in rules for problem in find_rule_problems(rule)] == []
    return compile_rulebook(rules)


def corpus() -> list[tuple[str, list[str], list[tuple[str, str]]]]:
    """(dialect, sample lines, (what is wanted, text)…)."""
    dialects: list[tuple[str, list[str], list[tuple[str, str]]]] = []
    for line in CORPUS.read_text("utf-8").splitlines():
        if line.startswith("## "):
            dialects.append((line[3:], [], []))
        elif line.startswith("? "):
            dialects[-1][1].append(line[2:])
        elif line.startswith("= "):
            wanted, text = line[2:].split("\t")
            dialects[-1][2].append((wanted, text))
    return dialects


@pytest.mark.parametrize(("name", "samples", "held"), corpus(), ids=[name for name, _, _ in corpus()])
def test_texts_held_out_of_the_corpus_are_read(name: str, samples: list[str], held: list[tuple[str, str]]) -> None:
    """Each dialect of the corpus, with the numbers found in its texts."""
    suggestion = suggest_rules(samples)
    assert suggestion.unread == ()
    book = book_of(suggestion)
    for wanted, text in held:
        read = book.read(text)
        numbers = [f"{name} {value}" for reading in read.readings for name, value in reading.numbers.items()]
        label, _, bracket = wanted.partition(" [")
        assert (meant(read), text) == (label, text)
        for number in filter(None, bracket.rstrip("]").split(", ")):
            field, value = number.split()
            assert f"{field} {float(value)}" in numbers, text


def test_invented_dialects_are_read_as_well_as_measured() -> None:
    """Fifty invented boxes. When this was written 99.8 % of their held-out texts were read right and none wrongly;
    over 400 boxes (seeds 0 to 399) it was 99.9 % and none."""
    right = wrong = total = 0
    for seed in DIALECTS:
        box = dialect(seed, events=8, held=12)
        book = book_of(suggest_rules([f"{label}\t{' '.join(text.split())}" for label, text in box.train]))
        for label, text in box.held:
            label_read = meant(book.read(text))
            right += label_read == label
            wrong += label_read not in (label, "unread")
            total += 1
    assert right / total > 0.97
    assert wrong / total < 0.01


LISTS = ["{front}1{joint}L {front}2{joint}H", "{front}1{joint}H {front}2{joint}L", "{front}1{joint}H {front}2{joint}H"]


@pytest.mark.parametrize(
    ("front", "joint"), [("", ":"), ("Z", "="), ("Z ", ":"), ("Z-", ":"), ("Z#", " = "), ("", '":"'), ("", "_")]
)
def test_texts_that_tell_of_several_inputs_are_read_as_lists(front: str, joint: str) -> None:
    """Whatever joins an input and its state, and whatever stands in front of each input."""
    texts = [text.format(front=front, joint=joint) for text in LISTS]
    labels = ("input 1 active", "input 2 active", "input 1 idle")
    unseen = f"{front}1{joint}L {front}7{joint}H"
    suggested = suggest_rules([*(f"{label}\t{text}" for label, text in zip(labels, texts, strict=True)), unseen])
    readings = book_of(suggested).read(unseen).readings
    assert [(reading.input, reading.state) for reading in readings] == [("1", "active"), ("7", "idle")]
    assert suggested.unread == (), "nobody is asked about a text that the rule reads"


@pytest.mark.parametrize(("first", "second", "third"), [("1", "2", "3"), ("11", "12", "13"), ("A", "B", "C")])
def test_a_state_that_only_one_input_has_shown_is_learnt_from_a_list(first: str, second: str, third: str) -> None:
    """One of three was low so far: all the same the texts are lists."""
    low, well = f"{first}:L {second}:H {third}:H", f"{first}:H {second}:H {third}:H"
    lines = [f"input {first} active\t{low}", f"input {first} idle\t{well}", f"input {second} idle\t{low}"]
    readings = book_of(suggest_rules(lines)).read(f"{first}:H {second}:L").readings
    found = [(reading.input, reading.state) for reading in readings]
    assert found == [(first.casefold(), "idle"), (second.casefold(), "active")]


@pytest.mark.parametrize(
    ("label", "said"),
    [
        (Label("input", "7", "active"), "input 7 active"),
        (Label("level", "7"), "level 7"),
        (Label("alive"), "alive"),
        (Label("power-lost"), "power-lost"),
    ],
)
def test_a_label_is_said_as_it_is_written(label: Label, said: str) -> None:
    """In what is asked, and in what is said of a mistake."""
    assert str(label) == said


def test_states_that_are_told_by_a_code_are_read_by_a_rule_each() -> None:
    """E07 is active and E08 idle: to one rule for both they look like any number, and so does the input."""
    samples = [
        "input 1 active\tE07 contact n°1 28/1 2:05am",
        "input 1 idle\tE08 contact n°1 26/11 9:16am",
        "input 2 active\tE07 contact n°2 2/10 9:10pm",
        "input 2 idle\tE08 contact n°2 24/9 11:34am",
        "input 1 active\tE07 contact n°1 9/1 0:23am",
        "input 1 idle\tE08 contact n°1 13/7 4:10pm",
        "input 2 active\tE07 contact n°2 8/1 5:20am",
        "input 2 idle\tE08 contact n°2 17/6 4:43pm",
    ]
    book = book_of(suggest_rules(samples))
    assert meant(book.read("E07 contact n°1 3/12 7:30am")) == "input 1 active"
    assert meant(book.read("E08 contact n°2 3/12 7:30am")) == "input 2 idle"


def test_names_of_several_words_are_kept_whole() -> None:
    """SPRING beside OLD SHED: a rule that read any name that begins with OLD would tell another tank's news as this one's."""
    names = {"1": "SPRING", "2": "OLD SHED", "3": "TOP PADDOCK", "4": "YARDS"}
    samples = [
        f"input {number} {state}\t#{5081 + 4 * int(number) + place} {name} {word}! {place + 1}/{number}0/26 1{number}:4{place}"
        for number, name in names.items()
        for place, (state, word) in enumerate((("active", "closed"), ("idle", "opened")))
    ]
    book = book_of(suggest_rules(samples))
    assert meant(book.read("#5101 OLD SHED opened! 3/12/26 07:30")) == "input 2 idle"
    assert meant(book.read("#5102 OLD DAM opened! 3/12/26 07:30")) == "unread"


def test_contradicting_labels_are_said_and_not_learnt() -> None:
    """The few that go against the many are unread; the rest is learnt as if they were not there."""
    lines = [
        "input 1 active\tLINE 1 MADE 04:11",
        "input 1 active\tLINE 1 MADE 05:11",
        "input 1 idle\tLINE 1 MADE 06:11",
    ]
    suggestion = suggest_rules([*lines, "input 1 idle\tLINE 1 BROKE 06:11"])
    assert suggestion.unread == ("LINE 1 MADE 06:11",)
    assert (
        len(suggestion.notes) == 1
        and "labelled input 1 idle" in suggestion.notes[0]
        and suggestion.notes[0] in suggestion.toml
    )
    assert meant(book_of(suggestion).read("LINE 2 MADE 07:11")) == "input 2 active"


def test_a_label_that_is_none_is_said() -> None:
    """And its text is taken as a bare one."""
    suggestion = suggest_rules(
        ["input 1 active\tLINE 1 MADE", "input 1 idle\tLINE 1 BROKE", "imput 2 active\tLINE 2 MADE"]
    )
    assert any("imput 2 active" in note for note in suggestion.notes)
    assert len(suggestion.rules) == 1 and "LINE 2 MADE" in suggestion.rules[0].reads
    assert suggestion.groups == () and suggestion.form == ""


def test_the_json_has_the_keys_of_the_contract() -> None:
    """Rules as they stand in TOML, unread samples, and the TOML itself."""
    suggestion = suggest_rules(["input 1 active\tLINE 1 MADE", "input 1 idle\tLINE 1 BROKE"]).as_json()
    assert suggestion["rules"][0]["text"] == "LINE {input} {state}"
    assert (suggestion["rules"][0]["active"], suggestion["rules"][0]["idle"]) == (["MADE"], ["BROKE"])
    assert suggestion["unread"] == [] and "[[controllers.rules]]" in suggestion["toml"]


LINES = st.lists(
    st.one_of(
        st.text(max_size=40),
        st.tuples(
            st.sampled_from(["input 1 active\t", "input 2 idle\t", "alive\t", "ignore\t", ""]),
            st.lists(
                st.sampled_from(["LINE", "1", "2", "*", "{", "}", "MADE", "04:11", "12.6V", "=", '"', "\\", "é"]),
                max_size=6,
            ),
        ).map(lambda pair: pair[0] + " ".join(pair[1])),
    ),
    max_size=6,
)


@given(LINES)
@settings(max_examples=120, deadline=None)
def test_whatever_the_lines_are_the_toml_loads(lines: list[str]) -> None:
    """No exception; every sample is read as it is labelled or named as unread."""
    suggestion = suggest_rules(lines)
    book_of(suggestion)
    assert set(suggestion.unread).isdisjoint(
        {text for rule in suggestion.rules if rule.rule.scope == "whole" for text in rule.reads}
        - set(suggestion.unread)
    )


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("STAT BATT: 12.6", ["STAT BATT: *", "BATT: {volts}"]),
        ("STAT BATT: 12.6 T: 21", ["STAT BATT: * T: *", "BATT: {volts}", "T: {celsius}"]),
        ("STAT T 21", ["STAT T *"]),  # a letter alone is no name
        ("STAT B: 12.6", ["STAT B: *"]),
    ],
)
def test_a_number_is_told_by_its_name_or_by_a_letter_before_a_colon(text: str, read: list[str]) -> None:
    """Without a unit behind it."""
    found = suggest_rules([f"alive\t{text}", f"alive\t{text[:-1]}0"])
    assert [suggested.rule.text for suggested in found.rules] == read


def test_a_sample_that_is_shown_keeps_to_its_line() -> None:
    """What is longer is cut, and says so; the rule is whole."""
    long = "STATION WELL " + "x" * 200
    lines = suggest_rules([f"alive\t{long}"]).toml.splitlines()
    (shown,) = [line for line in lines if line.startswith("#   ")]
    assert shown == f"#   {long[:99]}\N{HORIZONTAL ELLIPSIS}" and any(long in line for line in lines)
