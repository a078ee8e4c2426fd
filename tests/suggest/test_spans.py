"""Texts of one form in pieces: tokens, what is common to them, the spans between, and how little each looks like an input or a state."""

import pytest

from gateway.suggest.aligned_texts import AlignedTexts, TokenisedText, align_texts, find_common_tokens
from gateway.suggest.field_plausibility import can_be_field, name_oddness, span_oddness, state_oddness
from gateway.suggest.samples import parse_label
from gateway.suggest.tokens import find_input_places, is_small_number, tokenise, tokenise_with_input

LABELS = ("input 1 active", "input 2 idle", "input 1 idle", "input 2 active", "input 1 active", "input 2 idle")
FORMS = {
    "two": ["TANK 1: LOW 12.6V", "TANK 2: OK AGAIN 12.4V", "TANK 1: OK AGAIN 12V", "TANK 2: LOW 11V"],
    "lasts": ["P1 NOT OK", "P2 OK", "P1 OK", "P2 NOT OK"],
    "six": ["A 1 ON x", "A 2 OFF y", "A 1 OFF z", "A 2 ON w", "A 1 ON v", "A 2 OFF u"],
    "marks": ["Z1 +", "Z2 -", "Z1 -", "Z2 +"],
    "bits": ["S=1 I=1", "S=0 I=2", "S=0 I=1", "S=1 I=2"],
    "units": ["T 5 °C G1 UP", "T 6 °C G2 DN", "T 7 °C G1 DN", "T 9 °C G2 UP"],
}


def aligned(form: str) -> AlignedTexts:
    """The texts of that form, labelled in turn."""
    samples = zip(FORMS[form], LABELS, strict=False)  # as many as there are
    return align_texts([TokenisedText(text, tokenise(text), parse_label(label)) for text, label in samples])


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("LINE 1 MADE 12.6V", "LINE:word 1:number MADE:word 12.6:number V:word"),
        ("IN2=1", "IN:word 2:number =:punct 1:number"),
        ("7F3A x K4Q9", "7F3A:id x:word K4Q9:id"),
        ("(7F3A-", "(:punct 7F3A:id -:punct"),
        ("AB12 A1 12AB34", "AB12:id A:word 1:number 12AB34:id"),
        ("AB C3D4E5 A1", "AB:word C3D4E5:id A:word 1:number"),
        ("A1 B2", "A:word 1:number B:word 2:number"),
        ("AB-12", "AB:word -:punct 12:number"),
        ("x12V6 12V6", "x12V6:id 12V6:number"),
        ("-3 a-3 x+4", "-3:number a:word -:punct 3:number x:word +4:number"),
        ("it's 12,5", "it's:word 12,5:number"),
    ],
)
def test_a_text_in_tokens(text, kinds):
    """Letters and digits that touch are one identifier only where they are in turn."""
    assert " ".join(f"{token.text}:{token.kind}" for token in tokenise(text)) == kinds


@pytest.mark.parametrize(
    ("text", "small"),
    [
        ("7", True),
        ("77", True),
        ("777", False),
        ("007", True),
        ("077", True),
        ("0777", False),
        ("7.5", False),
        ("x", False),
    ],
)
def test_which_number_may_name_an_input(text, small):
    """Of two digits, or of three with noughts before it."""
    assert is_small_number(tokenise(text)[0]) is small


def test_where_the_labelled_input_stands():
    """Where it stands twice, the place most like the others'; a name of several tokens, too."""
    texts = [
        ("LINE 1 OF 1", "1"),
        ("LINE 2 OF 3", "2"),
        ("LINE 3 UP", "3"),
        ("NONE", "3"),
        ("GATE gully-2 UP", "gully-2"),
        ("A B", "a b"),
    ]
    assert find_input_places(texts) == [(5, 6), (5, 6), (5, 6), None, (5, 12), None]
    assert find_input_places([("3 LINE 3 UP", "3"), ("9 LINE 2 UP", "2"), ("8 LINE 4 UP", "4")])[0] == (7, 8)
    assert find_input_places([("x 1 y x 1 UP", "1"), ("x 2 UP", "2")])[0] == (8, 9)
    assert find_input_places([("gate12:30 UP", "gate12:30")]) == [None], "a time is no part of a name"
    assert [token.kind for token in tokenise_with_input("GATE gully-2 UP", (5, 12))] == ["word", "input", "word"]
    assert tokenise_with_input("GATE 2", None) == tokenise("GATE 2")


def test_what_is_common_and_what_lies_between():
    """The words that all have, in their order, and the slots about them."""
    two = aligned("two")
    assert [two.token(column).text for column in range(len(two.columns))] == ["TANK", "1", ":", "12.6", "V"]
    slots = [two.slot(number).values(two.tokenised) for number in range(len(two.columns) + 1)]
    assert slots == [[""] * 4, [""] * 4, [""] * 4, ["low", "ok again", "ok again", "low"], [""] * 4, [""] * 4]
    assert two.column_values(1) == ["1", "2", "1", "2"]
    assert two.tokenised[1].words == [two.tokenised[1].tokens[place] for place in (0, 3, 4)]


@pytest.mark.parametrize(
    ("texts", "common"),
    [
        (["A B", "A x A B"], [(0, 2), (1, 3)]),  # what touches in both texts goes together
        (["A x B", "A x A B"], [(0, 0), (1, 1), (2, 3)]),
        (["A 1", "A 2 1"], [(0, 0), (1, 2)]),
        (["A 1", "A 1 1"], [(0, 0), (1, 1)]),
        (["x A", "A y", "A"], [(1, 0, 0)]),
        (["! B C ! 7 ! A", "A 7 C ! B B 7"], [(2, 2), (3, 3), (4, 6)]),
        (["7 7 B B B ! 7", "A B !", "C A C"], []),
        (["7 C 7 ! 7", "C ! ! 7 ! B C"], [(1, 0), (3, 2), (4, 3)]),
        (["7 B A", "7 7 A A !"], [(0, 0), (2, 2)]),
        (["C ! C B A C", "C B 7 7 7"], [(2, 0), (3, 1)]),
        (["C B C C", "C C 7 A A ! B"], [(2, 0), (3, 1)]),
        (["7 7 A 7 7 A", "A C 7 C C A A"], [(1, 2), (2, 5), (5, 6)]),
    ],
)
def test_which_tokens_are_common(texts, common):
    """A place in each text; of several that could be meant those that stand side by side."""
    assert find_common_tokens([tokenise(text) for text in texts]) == common


@pytest.mark.parametrize(
    ("texts", "last"),
    [
        (
            ["LID IS OPEN 12:30 NOW", "LID SHUT ! NOW"],
            [
                "lid|lid",
                "is|shut",
                "12:30|!",
                "is open|shut !",
                "open 12:30|shut !",
                "is open|shut",
                "lid is open|lid shut",
                "now|now",
                "now|now",
            ],
        ),
        (
            ["LID ! IS OPEN NOW", "LID 12:30 SHUT NOW"],
            [
                "lid|lid",
                "!|12:30",
                "open|shut",
                "! is|12:30 shut",
                "is open|12:30 shut",
                "is open|shut",
                "lid|lid",
                "is open now|shut now",
                "now|now",
            ],
        ),
        (["A ! x 7", "A 12:30 y z 7"], ["a|a", "!|12:30", "x|z", "! x|12:30 y", "! x|y z", "x|y z", "a|a"]),
    ],
)
def test_words_at_the_ends_of_a_slot(texts, last):
    """The spans that come last: the ends of each slot, its words however many, and those with the common word beside them."""
    found = align_texts([TokenisedText(text, tokenise(text)) for text in texts])
    assert ["|".join(span.values(found.tokenised)) for span in found.spans()][-len(last) :] == last


@pytest.mark.parametrize(
    ("form", "values", "may_be_state", "may_be_input", "oddness"),
    [
        ("two", ("tank", "tank"), True, True, (2.6, 2.8, 0.0, 0.0)),
        ("two", ("1", "2"), True, True, (3.5, None, 2.4, 0.0)),
        ("two", (":", ":"), False, False, (3.7, 3.7, 0.0, 0.0)),
        ("two", ("low", "ok again"), True, True, (2.15, 2.35, 0.0, 0.0)),
        ("two", ("12.6", "12.4"), False, False, (5.5, 6.0, 5.3, 15.0)),
        ("two", ("v", "v"), False, False, (2.6, 3.3, 0.0, 0.0)),
        ("two", (": low", ": ok again"), True, True, (7.15, 7.15, 0.0, 0.0)),
        ("two", ("low 12.6", "ok again 12.4"), False, False, (5.65, 5.85, 4.8, 0.0)),
        ("two", ("tank 1", "tank 2"), False, False, (5.1, None, 2.4, 0.0)),
        ("two", ("1:", "2:"), False, False, (6.2, None, 2.4, 0.0)),
        ("two", (": low 12.6", ": ok again 12.4"), False, False, (10.65, 10.65, 4.8, 0.0)),
        ("two", ("12.6v", "12.4v"), False, False, (7.1, 7.6, 4.8, 0.0)),
        ("two", ("1: low", "2: ok again"), False, False, (13.15, None, 4.8, 0.0)),
        ("two", ("low 12.6v", "ok again 12.4v"), False, False, (9.75, 9.95, 4.8, 0.0)),
        ("two", ("tank 1:", "tank 2:"), False, False, (12.6, None, 2.4, 0.0)),
        ("two", ("1: low 12.6", "2: ok again 12.4"), False, False, (14.65, None, 4.8, 0.0)),
        ("two", (": low 12.6v", ": ok again 12.4v"), False, False, (14.75, 14.75, 4.8, 0.0)),
        ("two", ("tank 1: low", "tank 2: ok again"), False, False, (10.25, None, 4.8, 0.0)),
        ("two", ("1: low 12.6v", "2: ok again 12.4v"), False, False, (18.75, None, 4.8, 0.0)),
        ("two", ("low", "ok"), True, True, (2.1, 2.3, 0.0, 0.0)),
        ("two", ("low", "again"), True, True, (2.1, 2.4, 0.0, 0.0)),
        ("lasts", ("p", "p"), True, True, (2.6, 2.8, 0.0, 0.0)),
        ("lasts", ("1", "2"), True, True, (3.5, None, 2.4, 0.0)),
        ("lasts", ("ok", "ok"), True, True, (2.6, 2.7, 0.0, 0.0)),
        ("lasts", ("1 not", "2"), False, False, (5.55, None, 5.3, 15.0)),
        ("lasts", ("not ok", "ok"), True, True, (3.65, 3.65, 3.0, 0.0)),
        ("lasts", ("p1", "p2"), False, False, (5.1, None, 2.4, 0.0)),
        ("lasts", ("1 not ok", "2 ok"), False, False, (7.15, None, 4.8, 0.0)),
        ("lasts", ("p1 not", "p2"), False, False, (9.65, None, 5.3, 0.0)),
        ("lasts", ("p1 not ok", "p2 ok"), False, False, (11.25, None, 4.8, 0.0)),
        ("six", ("a", "a"), True, True, (2.6, 2.8, 0.0, 0.0)),
        ("six", ("1", "2"), True, True, (3.5, None, 2.4, 0.0)),
        ("six", ("on x", "off y"), True, True, (15.2, 15.2, 7.2, 0.0)),
        ("six", ("1 on x", "2 off y"), False, False, (16.7, None, 7.2, 0.0)),
        ("six", ("a 1", "a 2"), False, False, (5.1, None, 2.4, 0.0)),
        ("six", ("a 1 on x", "a 2 off y"), False, False, (20.8, None, 7.2, 0.0)),
        ("six", ("on", "off"), True, True, (2.1, 2.1, 0.0, 0.0)),
        ("six", ("x", "y"), True, True, (15.1, 15.3, 7.2, 0.0)),
        ("marks", ("z", "z"), True, True, (2.6, 2.8, 0.0, 0.0)),
        ("marks", ("1", "2"), True, True, (3.5, None, 2.4, 0.0)),
        ("marks", ("+", "-"), True, True, (3.2, 3.2, 0.0, 0.0)),
        ("marks", ("1 +", "2 -"), False, False, (6.7, None, 4.8, 0.0)),
        ("marks", ("z1", "z2"), False, False, (5.1, None, 2.4, 0.0)),
        ("marks", ("z1 +", "z2 -"), False, False, (13.1, None, 4.8, 0.0)),
        ("bits", ("s", "s"), True, True, (2.6, 2.8, 0.0, 0.0)),
        ("bits", ("1", "0"), True, True, (2.0, 2.0, 0.0, 0.0)),
        ("bits", ("i", "i"), True, True, (2.6, 2.8, 0.0, 0.0)),
        ("bits", ("1", "2"), True, True, (3.5, 4.1, 2.4, 0.0)),
        ("bits", ("s=", "s="), True, True, (7.6, None, 0.0, 0.0)),
        ("bits", ("=1", "=0"), False, False, (6.2, None, 0.0, 0.0)),
        ("bits", ("1 i", "0 i"), False, False, (5.1, 5.1, 0.0, 0.0)),
        ("bits", ("i=", "i="), True, True, (7.6, 7.8, 0.0, 0.0)),
        ("bits", ("=1", "=2"), False, False, (6.2, 6.6, 2.4, 0.0)),
        ("bits", ("s=1", "s=0"), False, False, (12.6, None, 0.0, 0.0)),
        ("bits", ("i=1", "i=2"), False, False, (12.6, 12.8, 2.4, 0.0)),
        ("units", ("t", "t"), True, True, (2.6, 2.8, 0.0, 0.0)),
        ("units", ("5", "6"), True, True, (5.5, None, 4.8, 15.0)),
        ("units", ("°", "°"), False, False, (3.7, 3.7, 0.0, 0.0)),
        ("units", ("c", "c"), True, True, (2.6, 2.8, 0.0, 0.0)),
        ("units", ("g", "g"), True, True, (2.6, 3.0, 0.0, 0.0)),
        ("units", ("1", "2"), True, True, (3.5, 4.1, 2.4, 0.0)),
        ("units", ("up", "dn"), True, True, (2.1, 2.9, 0.0, 0.0)),
        ("units", ("1 up", "2 dn"), False, False, (5.6, 6.2, 4.8, 0.0)),
        ("units", ("t 5", "t 6"), False, False, (7.1, None, 4.8, 0.0)),
        ("units", ("5 °", "6 °"), False, False, (8.2, None, 4.8, 0.0)),
        ("units", ("°c", "°c"), False, False, (7.6, 7.6, 0.0, 0.0)),
        ("units", ("c g", "c g"), True, True, (4.2, 4.4, 0.0, 0.0)),
        ("units", ("g1", "g2"), False, False, (5.1, 5.5, 2.4, 0.0)),
        ("units", ("g1 up", "g2 dn"), False, False, (9.7, 10.1, 4.8, 0.0)),
        ("units", ("t 5 °", "t 6 °"), False, False, (14.6, None, 4.8, 0.0)),
        ("units", ("5 °c", "6 °c"), False, False, (14.6, None, 4.8, 0.0)),
        ("units", ("°c g", "°c g"), False, False, (11.7, 11.7, 0.0, 0.0)),
        ("units", ("c g1", "c g2"), False, False, (9.2, 9.4, 2.4, 0.0)),
        ("units", ("c g1 up", "c g2 dn"), False, False, (13.8, 14.0, 4.8, 0.0)),
        ("units", ("t 5 °c", "t 6 °c"), False, False, (11.7, None, 4.8, 0.0)),
        ("units", ("5 °c g", "6 °c g"), False, False, (18.7, None, 4.8, 0.0)),
        ("units", ("°c g1", "°c g2"), False, False, (16.7, 16.7, 2.4, 0.0)),
        ("units", ("°c g1 up", "°c g2 dn"), False, False, (21.3, 21.3, 4.8, 0.0)),
        ("units", ("t 5 °c g", "t 6 °c g"), False, False, (15.8, None, 4.8, 0.0)),
        ("units", ("5 °c g1", "6 °c g2"), False, False, (22.7, None, 4.8, 0.0)),
    ],
)
def test_how_odd_a_span_is(form, values, may_be_state, may_be_input, oddness):
    """By itself, beside the place of the input, as a state, as a name: the least odd is chosen. `values`: in the first two texts."""
    texts = aligned(form)
    (span,) = {span for span in texts.spans() if tuple(span.values(texts.tokenised)[:2]) == values}
    assert (can_be_field(texts, span, "state"), can_be_field(texts, span, "input")) == (may_be_state, may_be_input)
    alone, beside, as_state, as_name = oddness
    found = (span_oddness(texts, span, None), state_oddness(texts, span), name_oddness(texts, span))
    assert found == pytest.approx((alone, as_state, as_name))
    assert beside is None or span_oddness(texts, span, texts.column_span(1)) == pytest.approx(beside)


@pytest.mark.parametrize(
    ("numbers", "may_name"),
    [
        (range(1, 9), True),
        (range(1, 10), False),  # so many are a count
        ((11, 12), True),
        ((101, 102), False),
    ],
)
def test_which_numbers_may_be_inputs(numbers, may_name):
    """At most eight different ones, of two digits."""
    texts = [f"P {number} UP" for number in numbers]
    found = align_texts([TokenisedText(text, tokenise(text)) for text in texts])
    assert can_be_field(found, found.column_span(1), "input") is may_name
