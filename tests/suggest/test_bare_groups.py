"""Texts without labels: grouped by shape, asked about once, never guessed."""

import pytest

from gateway.suggest.bare_groups import groups_of_one_shape
from gateway.suggest.samples import read_samples
from gateway.suggest.suggest_rules import suggest_rules
from gateway.suggest.trouble_words import words_of_trouble

BARE = [
    "LINE 1 MADE 0714",
    "LINE 1 BROKE 0800",
    "LINE 2 MADE 0915",
    "LINE 1 MADE 1015",
    "DAILY REPORT 12.4V bars 3/5",
    "DAILY REPORT 12.3V bars 2/5",
]


def test_what_is_measured_or_counted_makes_no_shape_of_its_own():
    """A time, a voltage, three of five; an input does."""
    assert [group.texts for group in groups_of_one_shape(BARE)] == [
        ("LINE 1 MADE 0714", "LINE 1 MADE 1015"),
        (BARE[4], BARE[5]),
        ("LINE 1 BROKE 0800",),
        ("LINE 2 MADE 0915",),
    ]


@pytest.mark.parametrize(("many", "groups"), [(8, 8), (9, 1)])
def test_too_many_numbers_are_a_count(many, groups):
    """No box has so many inputs in one place."""
    texts = [f"MSG {number} ALL WELL" for number in range(1, many + 1)]
    assert len(groups_of_one_shape(texts)) == groups


def test_nothing_is_made_of_bare_texts():
    """No rule but for numbers; every text is unread, and the form asks."""
    suggestion = suggest_rules(BARE)
    assert {suggested.rule.means for suggested in suggestion.rules} == {"reading"}
    assert sorted(suggestion.unread) == sorted(BARE) and suggestion.misread == ()
    assert suggestion.form.count("\n?\t") == 4 and "DECIDE" not in suggestion.toml


def test_the_form_comes_back_labelled():
    """One answer a shape; what nobody knows stays unread and is not asked again."""
    answers = {"LINE 1 MADE": "input 1 active", "LINE 1 BROKE": "input 1 idle", "LINE 2 MADE": "input 2 active"}
    form = suggest_rules(BARE).form
    for words, label in answers.items():
        form = form.replace(f"?\t{words}", f"{label}\t{words}")
    suggestion = suggest_rules(form.splitlines())
    assert [suggested.rule.text for suggested in suggestion.rules if suggested.rule.means == "input"] == [
        "LINE {input} {state} *"
    ]
    assert (suggestion.groups, suggestion.form, len(suggestion.unknown)) == ((), "", 2)
    assert "passed on word for word" in suggestion.toml


def test_a_text_may_begin_like_a_remark():
    """Only in our own form are lines with # left out."""
    assert [sample.text for sample in read_samples(["#0123 LINE 1 MADE", "#0124 LINE 1 BROKE"]).samples] == [
        "#0123 LINE 1 MADE",
        "#0124 LINE 1 BROKE",
    ]


@pytest.mark.parametrize(
    "lines",
    [
        ["alive\tREPORT LOW 3", "alive\tREPORT OK 4", "input 1 active\tTANK 1 LOW", "input 1 idle\tTANK 1 OK"],
        ["alive\tREPORT EMPTY", "alive\tREPORT FINE", "alive\tREPORT GOOD"],
    ],
)
def test_no_star_stands_where_something_else_is_told(lines):
    """A word that is another label's, or one of trouble, is spelled out: a text with another one in its place is unread."""
    suggestion = suggest_rules(lines)
    texts = [suggested.rule.text or "" for suggested in suggestion.rules if suggested.rule.means == "alive"]
    assert suggestion.misread == () and texts
    assert all(text.split()[1] != "*" for text in texts), texts
    assert any("speaks of trouble" in note for note in suggestion.notes)


@pytest.mark.parametrize(
    "lines", [["alive\t12:30", "alive\t13:30"], ["alive\t1", "alive\t2"], ["ignore\t!!", "ignore\t??"]]
)
def test_no_rule_reads_whatever_comes(lines):
    """Nothing but stars is no rule, whatever the label."""
    suggestion = suggest_rules(lines)
    assert all(any(map(str.isalnum, suggested.rule.text or "")) for suggested in suggestion.rules)


@pytest.mark.parametrize("text", ["TANK 2 LOW", "Tank leer", "tanque vacío", "бак порожній", "Mains fail", "FLOODED"])
def test_words_of_trouble(text):
    """In each language of the phrases, in any case and ending."""
    assert words_of_trouble(text)


@pytest.mark.parametrize("text", ["STATION WELL 1", "Below 12", "flower", "12.4V"])
def test_no_words_of_trouble(text):
    """Not in the middle of another word."""
    assert not words_of_trouble(text)


def test_texts_of_nothing_but_measurements_are_told_apart_by_their_units() -> None:
    """A mark beside a number is no word that tells what a text is about."""
    groups = groups_of_one_shape(["12.6V !", "80% !", "12.4V !"])
    assert [group.texts for group in groups] == [("12.6V !", "12.4V !"), ("80% !",)]


def test_a_level_with_nothing_else_in_its_text_is_one_shape():
    """Its number is measured and names no input: else each height would be asked about by itself."""
    groups = groups_of_one_shape([f"LVL {percent}%" for percent in (78, 64, 31)])
    assert [group.texts for group in groups] == [("LVL 78%", "LVL 64%", "LVL 31%")]
